"""A bench file is read whole or refused whole, and a refusal names entry and remedy."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from yieldwright.bench import Bench, read_bench
from yieldwright.errors import BenchFileError
from yieldwright.glossary import Span

Read = Callable[[str], Bench]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Return a reader of bench text, by way of a file."""

    def read_text(text: str) -> Bench:
        path = tmp_path / "bench.toml"
        path.write_text(text, encoding="utf-8")
        return read_bench(path)

    return read_text


def refusal(read: Read, text: str) -> str:
    """Return the message with which a bench text is refused."""
    with pytest.raises(BenchFileError, match=r"bench\.toml") as caught:
        read(text)
    return str(caught.value)


def test_an_empty_file_is_the_bench_of_assumptions(read: Read) -> None:
    assert read("") == Bench()


def test_figures_left_out_stay_as_assumed(read: Read) -> None:
    bench = read("[refractometer]\naccuracy_pct = 0.1\n")
    assert bench.refractometer.accuracy_pct == 0.1
    assert bench.refractometer.resolution_pct == Bench().refractometer.resolution_pct


def test_the_two_scales_are_told_apart(read: Read) -> None:
    bench = read("[scales.dose]\nresolution_g = 0.01\n[scales.beverage]\nresolution_g = 1\n")
    assert (bench.dose_scale.resolution_g, bench.beverage_scale.resolution_g) == (0.01, 1.0)


def test_a_grinder_may_count_downwards(read: Read) -> None:
    bench = read('[[grinders]]\nname = "g"\nstep = 0.5\ncoarser = "down"\nretained_g = 0.4\n')
    grinder = bench.grinder("g")
    assert (grinder.step, grinder.coarser_sign, grinder.retained_g) == (0.5, -1, 0.4)
    assert grinder.stated


def test_a_grinder_without_step_or_direction_rests_on_assumptions(read: Read) -> None:
    grinder = read('[[grinders]]\nname = "g"\nstep = 2\n').grinder("g")
    assert not grinder.stated
    assert grinder.retained_g is None


def test_bands_come_back_coolest_first(read: Read) -> None:
    bench = read(
        '[[bands]]\nname = "hot"\nlow_c = 90\nhigh_c = 95\n'
        '[[bands]]\nname = "cool"\nlow_c = 80\nhigh_c = 90\n'
    )
    assert [band.name for band in bench.bands] == ["cool", "hot"]


def test_a_recipe_may_leave_a_figure_open(read: Read) -> None:
    recipe = read('[recipe]\ntime_s = "any"\nend_least_bar = "any"\n').recipe
    assert recipe.time_s is None
    assert recipe.end_least_bar is None
    assert recipe.dose_g == 18.0


def test_a_window_of_ones_own_is_stated(read: Read) -> None:
    window = read("[window]\nstrength_low_pct = 7\n").window
    assert window.stated
    assert window.strength_low_pct == 7.0


def test_attributes_keep_the_order_of_the_file(read: Read) -> None:
    bench = read(
        '[[attributes]]\nname = "sweet"\n[[attributes]]\nname = "body"\nbetter = "middle"\n'
    )
    assert [(each.name, each.better) for each in bench.attributes] == [
        ("sweet", "more"),
        ("body", "middle"),
    ]


def test_headers_of_the_log_are_mapped(read: Read) -> None:
    bench = read('[columns]\n"Coffee in" = "dose_g"\n"Liking" = "score:overall"\n')
    assert bench.columns == {"Coffee in": "dose_g", "Liking": "score:overall"}


def test_single_readings_may_be_mapped(read: Read) -> None:
    assert read('[columns]\n"First" = "tds_1_pct"\n').columns == {"First": "tds_1_pct"}


def test_a_shot_may_be_named_by_several_headers(read: Read) -> None:
    bench = read('[columns]\nshot_id = ["session", "brew"]\n')
    assert bench.shot_id == ("session", "brew")
    assert bench.columns == {}


def test_a_header_called_shot_id_is_a_header(read: Read) -> None:
    bench = read('[columns]\nshot_id = "shot"\n')
    assert bench.shot_id == ()
    assert bench.columns == {"shot_id": "shot"}


def test_ranges_are_widened(read: Read) -> None:
    bench = read("[ranges.dose_g]\nhard = [5, 300]\nsoft = [14, 300]\n")
    assert bench.quantity("dose_g").hard == Span(5, 300)
    assert bench.quantity("dose_g").soft == Span(14, 300)


def test_how_to_read_the_log_is_told(read: Read) -> None:
    bench = read(
        '[reading]\ndelimiter = "semicolon"\ndecimal = "comma"\ntime_zone_offset = "-03:30"\n'
    )
    assert (bench.delimiter, bench.decimal, bench.time_zone_offset) == (
        "semicolon",
        "comma",
        "-03:30",
    )


@pytest.mark.parametrize("order", ["day first", "month first"])
def test_the_order_of_day_and_month_is_told(read: Read, order: str) -> None:
    bench = read(f'[reading]\nday_order = "{order}"\n')
    assert bench.day_order == order
    assert bench.stated == {"day_order"}


def test_a_sheet_and_a_density_are_told(read: Read) -> None:
    bench = read('[reading]\nsheet = " Pulls 2026 "\ndensity_g_per_ml = 0.8\n')
    assert (bench.sheet, bench.density_g_per_ml) == ("Pulls 2026", 0.8)


def test_volumes_have_no_density_until_one_is_told(read: Read) -> None:
    assert read('[reading]\nsheet = "a"\n').density_g_per_ml is None


def test_a_sugar_scale_has_a_factor_of_its_own(read: Read) -> None:
    meter = read("[refractometer]\ntds_per_brix = 0.9\ntds_per_brix_spread = 0\n").refractometer
    assert (meter.tds_per_brix, meter.tds_per_brix_spread) == (0.9, 0.0)


def test_a_byte_order_mark_and_windows_lines_are_read(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    path.write_bytes(b"\xef\xbb\xbf[recipe]\r\ndose_g = 17\r\n")
    assert read_bench(path).recipe.dose_g == 17.0


class TestStated:
    def test_nothing_is_stated_by_an_empty_file(self, read: Read) -> None:
        assert read("").stated == frozenset()

    def test_an_instrument_is_stated_when_all_its_figures_are(self, read: Read) -> None:
        bench = read("[scales.dose]\nresolution_g = 0.1\nrepeatability_g = 0.02\n")
        assert bench.stated == {
            "dose_scale",
            "dose_scale.repeatability_g",
            "dose_scale.resolution_g",
        }

    def test_an_instrument_stated_in_part_is_named_figure_by_figure(self, read: Read) -> None:
        bench = read("[refractometer]\naccuracy_pct = 0.1\n")
        assert bench.stated == {"refractometer.accuracy_pct"}

    def test_a_refractometer_is_stated_without_its_factor_for_sugar(self, read: Read) -> None:
        bench = read(
            "[refractometer]\nresolution_pct = 0.1\nrepeatability_pct = 0.05\naccuracy_pct = 0.1\n"
        )
        assert "refractometer" in bench.stated

    def test_a_recipe_is_stated_by_any_figure(self, read: Read) -> None:
        assert read("[recipe]\ndose_g = 17\n").stated == {"recipe", "recipe.dose_g"}

    def test_the_names_are_those_of_the_bench(self, read: Read) -> None:
        bench = read(
            'machine = "m"\n[columns]\nshot_id = ["a", "b"]\n"c" = "dose_g"\n'
            '[reading]\ndecimal = "comma"\n'
        )
        assert bench.stated == {"machine", "shot_id", "columns", "decimal"}


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("[refractometer]\naccurracy_pct = 1\n", ["[refractometer]", "accuracy_pct?"]),
        ("[refraktometer]\n", ['"refraktometer"', "did you mean refractometer?"]),
        ("[recipe]\nzzz = 1\n", ['"zzz"', "known here: dose_g,"]),
        ("[scales.does]\nresolution_g = 1\n", ['"does"', "did you mean dose?"]),
        (
            '[scales.dose]\nresolution_g = "0,1"\n',
            ['resolution_g is "0,1"', "write resolution_g = 0.1, without quotes"],
        ),
        ("[scales.dose]\nresolution_g = 0\n", ["resolution_g is 0", "above 0"]),
        ("[scales.dose]\nresolution_g = true\n", ["resolution_g is true", "a number"]),
        ("[scales.dose]\nresolution_g = inf\n", ["resolution_g is Infinity", "a number"]),
        ("[scales.dose]\nresolution_g = 2026-03-07\n", ["a date", "a number"]),
        (f"[scales.dose]\nresolution_g = 1{'0' * 400}\n", ["resolution_g is 1000", "a number"]),
        ("scales = 3\n", ["scales is 3", "headed by a line [scales]"]),
        ("grinders = 3\n", ["grinders is 3", "[[grinders]]"]),
        ("[[grinders]]\nstep = 1\n", ["[[grinders]] number 1", "name is missing"]),
        ('[[grinders]]\nname = " "\n', ["[[grinders]] number 1", 'name is " "']),
        (
            '[[grinders]]\nname = "g"\ncoarser = "upp"\n',
            ['coarser is "upp"', '"up" or "down"', "did you mean up?"],
        ),
        ('[[grinders]]\nname = "g"\n[[grinders]]\nname = "G"\n', ["more than one", "'g'"]),
        ('[[bands]]\nname = "a"\nlow_c = 80\n', ["high_c missing", "both ends"]),
        ('[[bands]]\nname = "a"\nlow_c = 90\nhigh_c = 80\n', ["not below", "swap"]),
        ('[[bands]]\nname = "a"\nlow_c = 80\nhigh_c = 200\n', ["high_c is 200", "20–110"]),
        ("[recipe]\nhold_low_bar = 9.5\n", ["hold_low_bar 9.5", "above hold_high_bar 9"]),
        ("[window]\nyield_low_pct = 25\n", ["yield_low_pct 25", "not below", "22"]),
        ('[[attributes]]\nname = "a"\nlow = 5\nhigh = 1\n', ["low 5", "not below high 1"]),
        ('[[attributes]]\nname = "a"\nstep = 11\n', ["step 11", "wider"]),
        ('[[attributes]]\nname = "notes"\n', ["name notes", "column of the log already"]),
        ('[columns]\n"c" = "dose"\n', ['"c"', '"dose"', "did you mean dose_g?"]),
        ('[columns]\n"c" = "score:bitter"\n', ['"score:bitter"', "attribute of this bench"]),
        ('[columns]\n"a" = "dose_g"\n"b" = "dose_g"\n', ['"a" and "b"', "dose_g"]),
        ('[columns]\n"a" = 3\n', ["a is 3", "a text"]),
        ('[columns]\nshot_id = ["a", "a"]\n', ["shot_id", "repeated"]),
        ("[columns]\nshot_id = [1]\n", ["shot_id is [1]", "a list of texts"]),
        ('[columns]\nshot_id = ["a"]\n"b" = "shot"\n', ["shot_id", "both name the shot"]),
        ("[ranges.dose_g]\nhard = [10, 300]\n", ["narrower", "5–30"]),
        ("[ranges.dose_g]\nhard = [0, 300]\n", ["reaches beyond above 0"]),
        ("[ranges.dose_g]\nsoft = [4, 22]\n", ["soft 4–22", "beyond 5–30"]),
        ("[ranges.dose_g]\nhard = [300, 5]\n", ["hard is [300, 5]", "lower first"]),
        ("[ranges.tds_pct]\nhard = [0, 101]\n", ["hard 0–101", "beyond 0–100"]),
        ("[ranges.dose]\nhard = [5, 300]\n", ['"dose"', "did you mean dose_g?"]),
        ("[ranges.notes]\nhard = [5, 300]\n", ["no quantity with a range"]),
        ("[ranges]\ndose_g = [5, 300]\n", ["headed by a line [ranges.dose_g]"]),
        ("[ranges.ey_pct]\nhard = [0, 100]\n", ["ceiling of 30 %", "cannot be widened"]),
        ("[ranges.ey_pct]\nsoft = [15, 40]\n", ["ceiling of 30 %", "cannot be widened"]),
        ('[reading]\ndelimiter = ";"\n', ['delimiter is ";"', '"semicolon"']),
        (
            '[reading]\nday_order = "day-first"\n',
            [
                'day_order is "day-first"',
                '"day first" or "month first"',
                "did you mean day first?",
            ],
        ),
        ("[reading]\nsheet = 2\n", ["sheet is 2", 'such as sheet = "…"']),
        (
            '[reading]\ndensity_g_per_ml = "0,8"\n',
            ['density_g_per_ml is "0,8"', "0.3–1.2", "write density_g_per_ml = 0.8"],
        ),
        ("[reading]\ndensity_g_per_ml = 800\n", ["density_g_per_ml is 800", "0.3–1.2"]),
        ("[reading]\ndayorder = 1\n", ['"dayorder"', "did you mean day_order?"]),
        ("[refractometer]\ntds_per_brix = 85\n", ["tds_per_brix is 85", "0.5–1.5"]),
        ("[refractometer]\ntds_per_brix_spread = 5\n", ["tds_per_brix_spread is 5", "0–0.5"]),
        ('[reading]\ntime_zone_offset = "CET"\n', ['time_zone_offset is "CET"', "+01:00"]),
    ],
)
def test_a_wrong_entry_is_named_with_the_remedy(read: Read, text: str, parts: list[str]) -> None:
    message = refusal(read, text)
    assert [part for part in parts if part not in message] == []


def test_bands_that_overlap_are_named_with_the_stretch(read: Read) -> None:
    message = refusal(
        read,
        '[[bands]]\nname = "b"\nlow_c = 85\nhigh_c = 95\n'
        '[[bands]]\nname = "a"\nlow_c = 80\nhigh_c = 88\n',
    )
    assert "a and b overlap between 85 and 88 °C" in message


def test_all_wrong_entries_are_told_at_once(read: Read) -> None:
    message = refusal(read, "[recipe]\ndose_g = -1\n[window]\nstrength_low_pct = 200\n")
    assert "2 wrong entries" in message
    assert "[recipe] dose_g is -1" in message
    assert "[window] strength_low_pct is 200" in message


def test_a_mistake_of_syntax_names_the_line_and_shows_it(read: Read) -> None:
    message = refusal(read, "[recipe]\ndose_g = eighteen\n")
    assert "line 2" in message
    assert "'dose_g = eighteen'" in message


def test_a_decimal_comma_gets_its_remedy(read: Read) -> None:
    assert "0.1 and not 0,1" in refusal(read, "[scales.dose]\nresolution_g = 0,1\n")


def test_entries_nested_without_end_are_refused(read: Read) -> None:
    assert "too deeply" in refusal(read, f"a = {'[' * 5000}{']' * 5000}\n")


def test_a_number_of_thousands_of_digits_is_refused(read: Read) -> None:
    message = refusal(read, f"[recipe]\ndose_g = 0x1{'0' * 4000}\n")
    assert "dose_g is a number of very many digits" in message


def test_a_missing_file_says_how_to_get_one(tmp_path: Path) -> None:
    with pytest.raises(BenchFileError, match="yieldwright start"):
        read_bench(tmp_path / "bench.toml")


def test_a_folder_is_no_bench_file(tmp_path: Path) -> None:
    with pytest.raises(BenchFileError, match="cannot be read"):
        read_bench(tmp_path)


def test_text_in_another_encoding_names_its_line(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    path.write_bytes('name = "a"\nbasket = "é"\n'.encode("cp1252"))
    with pytest.raises(BenchFileError, match="line 2; save it again as UTF-8"):
        read_bench(path)


def test_a_log_given_as_bench_file_is_not_swallowed(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    path.write_bytes(b"#" * 1_000_001)
    with pytest.raises(BenchFileError, match="over a megabyte"):
        read_bench(path)


def test_a_message_shows_control_characters_harmless(read: Read) -> None:
    message = refusal(read, '"\\u001b[31m" = 1\n[columns]\n"\\u001b[0m" = "\\u001b[1m"\n')
    assert "\x1b" not in message


def test_the_published_batch_brews_need_only_such_a_file(read: Read) -> None:
    bench = read(
        '[columns]\n"Dose" = "dose_g"\nshot_id = ["session", "brew"]\n'
        "[ranges.dose_g]\nhard = [5, 300]\nsoft = [14, 300]\n"
        "[ranges.tds_pct]\nsoft = [0.5, 14]\n"
    )
    assert bench.quantity("tds_pct").soft == Span(0.5, 14)
