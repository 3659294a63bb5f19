"""What each column may be in a fit."""

from __future__ import annotations

from pathlib import Path

import pytest

from yieldwright.errors import RoleError, UnknownNameError
from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES
from yieldwright.shotlog import read_log
from yieldwright.taste import attribute_of, fit, require_predictors, require_response, role_of
from yieldwright.taste.columns.roles import require_logged

ROLES = {"setting", "adjuster", "group", "response", "identity", "record"}


@pytest.mark.parametrize("entry", [*SHOT_QUANTITIES, *TASTING_QUANTITIES], ids=lambda e: e.name)
def test_every_column_of_the_glossary_has_a_role(entry) -> None:
    assert role_of(entry.name) in ROLES


@pytest.mark.parametrize(
    ("column", "role"),
    [
        ("grind_setting", "setting"),
        ("temp_band", "setting"),
        ("taper_bar", "setting"),
        ("prewet_s", "setting"),
        ("roast_age_d", "adjuster"),
        ("dose_g", "adjuster"),
        ("position", "adjuster"),
        ("gap_min", "adjuster"),
        ("soak_min", "setting"),
        ("barista", "adjuster"),
        ("machine", "adjuster"),
        ("service_stretch", "adjuster"),
        ("serviced", "record"),
        ("session", "group"),
        ("time_s", "response"),
        ("first_drip_s", "response"),
        ("tds_pct", "response"),
        ("tds_2_pct", "response"),
        ("ey_pct", "response"),
        ("score:bitter", "response"),
        ("shot", "identity"),
        ("notes", "record"),
        ("u_ey_pct", "record"),
    ],
)
def test_roles_follow_the_policy(column: str, role: str) -> None:
    assert role_of(column) == role


def test_an_unknown_column_has_no_role() -> None:
    with pytest.raises(UnknownNameError, match="colour"):
        role_of("colour")


@pytest.mark.parametrize("column", ["time_s", "first_drip_s", "tds_pct", "ey_pct", "score:sweet"])
def test_an_outcome_is_refused_as_a_cause(column: str) -> None:
    with pytest.raises(RoleError, match=f"{column} is an outcome .* response of its own"):
        require_predictors(["grind_setting", column])


def test_two_outcomes_are_named_together() -> None:
    with pytest.raises(RoleError, match="time_s and tds_pct are outcomes"):
        require_predictors(["time_s", "tds_pct"])


@pytest.mark.parametrize("column", ["session", "shot", "notes", "bag"])
def test_a_name_or_record_is_refused_as_a_cause(column: str) -> None:
    with pytest.raises(RoleError, match=f"{column} can neither be set nor allowed for"):
        require_predictors([column])


@pytest.mark.parametrize(
    ("column", "instead"),
    [
        ("serviced", "service_stretch allows for what was cleaned or changed"),
        ("session", "differences between sessions are allowed for"),
        ("bag", "compared within each bag"),
        ("grinder", "never put on one line"),
    ],
)
def test_a_refused_column_says_what_serves_instead(column: str, instead: str) -> None:
    with pytest.raises(RoleError, match=instead):
        require_predictors([column])


@pytest.mark.parametrize("column", ["barista", "basket", "machine", "water", "service_stretch"])
def test_conditions_of_the_bench_may_be_allowed_for(column: str) -> None:
    require_predictors([column])


def test_a_column_the_log_holds_may_be_asked_for() -> None:
    require_logged(["temp_c"], ["shot", "temp_c", "flavour of the day"])


def test_a_column_nobody_logged_is_refused_with_those_one_could_ask_for() -> None:
    logged = ["shot", "taper_bar", "time_s", "grind_setting", "flavour of the day"]
    with pytest.raises(
        RoleError,
        match="temp_c is not in this log, which holds grind_setting and taper_bar: log it",
    ):
        require_logged(["grind_setting", "temp_c"], logged)


def test_a_service_nobody_noted_says_where_to_note_it() -> None:
    with pytest.raises(RoleError, match=r"not in this log: .*begins where serviced says so"):
        require_logged(["service_stretch"], ["shot"])


def test_a_log_of_no_setting_at_all_says_to_log_some() -> None:
    with pytest.raises(
        RoleError, match="temp_c and prewet_s are not in this log: log them with the next shots"
    ):
        require_logged(["temp_c", "prewet_s"], ["shot", "time_s"])


@pytest.mark.parametrize("column", ["grind_setting", "dose_g", "fate", "score", "session"])
def test_only_a_measured_outcome_is_explained(column: str) -> None:
    with pytest.raises(RoleError, match=column):
        require_response(column)


@pytest.mark.parametrize("of", ["grind_setting", "fate"])
def test_a_taste_is_offered_as_one_asks_for_it(of: str, tmp_path: Path) -> None:
    log = tmp_path / "shots.csv"
    log.write_text("shot,grind_setting,overall\n1,10,6\n2,11,7\n", encoding="utf-8")
    with pytest.raises(RoleError, match=r"such as overall$") as refused:
        fit(read_log(log), of)
    assert fit(read_log(log), str(refused.value).split()[-1]).line.response == "score:overall"


def test_a_score_column_names_its_attribute() -> None:
    assert attribute_of("score:a:b") == "a:b"
    assert attribute_of("ey_pct") is None
