"""Headers are read by name, by the bench's own words, or by general words of one meaning."""

from __future__ import annotations

import itertools
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldwright.bench import Attribute, Bench
from yieldwright.errors import UnreadableLogError
from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES, Quantity, quantity
from yieldwright.shotlog import read_log
from yieldwright.shotlog.formats.records import Record
from yieldwright.shotlog.headers.headers import (
    Header,
    Table,
    Vocabulary,
    header_remarks,
    nearest_name,
    read_headers,
)
from yieldwright.shotlog.headers.synonyms import meanings_of
from yieldwright.shotlog.headers.unit_rows import is_unit_row, state_units

SHOTS = Vocabulary("shots", Bench())
TWO_SCALES = Bench(attributes=(Attribute("sweet"), Attribute("bitter")))


def taken(text: str, bench: Bench | None = None, table: Table = "shots") -> tuple[str, str]:
    """Return name and unit of a header, the name empty where it is kept as text."""
    header = Vocabulary(table, bench or Bench()).header(text)
    return ("" if header.role == "extra" else header.name), header.unit


def doubt(text: str, bench: Bench | None = None) -> str:
    """Return why a header is kept as text."""
    header = Vocabulary("shots", bench or Bench()).header(text)
    assert header.role == "extra"
    return header.doubt


class TestNames:
    @pytest.mark.parametrize("entry", SHOT_QUANTITIES, ids=lambda entry: entry.name)
    def test_a_name_or_a_label_of_the_glossary_is_itself(self, entry: Quantity) -> None:
        for text in (entry.name, entry.name.upper(), entry.axis_label, f" {entry.label} "):
            assert taken(text) == (entry.name, "")

    @pytest.mark.parametrize("entry", TASTING_QUANTITIES, ids=lambda entry: entry.name)
    def test_so_it_is_in_a_table_of_tastings(self, entry: Quantity) -> None:
        assert taken(entry.label, table="tastings") == (entry.name, "")

    def test_a_name_is_not_told_as_a_general_word(self) -> None:
        assert header_remarks(read_headers(["dose_g", "Dose [g]x", "Grinder"], SHOTS, "")) == []


class TestGeneralWords:
    @pytest.mark.parametrize(
        ("words", "name"),
        [
            ("dose|coffee in|grounds|in|Dry Dose|weight-in|dose weight", "dose_g"),
            ("beverage|cup|out|espresso weight|drink weight|Coffee out", "beverage_g"),
            ("target dose|dose aimed at", "dose_target_g"),
            ("target yield|target out", "beverage_target_g"),
            ("ratio|brew ratio", "brew_ratio"),
            ("time|shot time|seconds|duration|extraction time|Pull Time", "time_s"),
            ("pre-infusion|preinfusion|pre wet|soak time", "prewet_s"),
            ("first drip|first drops|time to first drip", "first_drip_s"),
            ("TDS|strength|total dissolved solids|concentration", "tds_pct"),
            ("EY|extraction yield", "ey_pct"),
            ("grind|grinder setting|grind size|clicks", "grind_setting"),
            ("temp|brew temp|group temperature|water temp", "temp_c"),
            ("room temp|ambient temperature", "room_c"),
            ("band|temp band", "temp_band"),
            ("max pressure|peak|peak pressure", "peak_bar"),
            ("hold|hold pressure", "hold_bar"),
            ("end pressure|final pressure", "end_bar"),
            ("date|day|shot date", "pulled_on"),
            ("pulled|date & time|timestamp|datetime|date and time", "pulled_at"),
            ("roast date|date roasted", "roasted_on"),
            ("roast level|roast colour", "roast_level"),
            ("age|days off roast|days since roast", "roast_age_d"),
            ("bag|bean|coffee name", "bag"),
            ("barista|pulled by", "barista"),
            ("comment|comments|remarks|note", "notes"),
            ("shot number|Shot #|shot id|id", "shot"),
            ("screen", "puck_screen"),
        ],
    )
    def test_they_name_one_quantity(self, words: str, name: str) -> None:
        assert {taken(word) for word in words.split("|")} == {(name, "")}

    @pytest.mark.parametrize(
        ("words", "name"),
        [
            ("Dosis|Einwaage|Kaffeemenge", "dose_g"),
            ("Getränk|bebida|bevanda|boisson|Auswaage", "beverage_g"),
            ("Zeit|temps|tiempo|tempo|Bezugszeit", "time_s"),
            ("Mahlgrad|mouture|molienda|macinatura", "grind_setting"),
            ("Mühle|moulin|molino|macinino", "grinder"),
            ("Temperatur|température|temperatura", "temp_c"),
            ("Datum|fecha", "pulled_on"),
            ("Röstdatum|date de torréfaction|fecha de tueste|data di tostatura", "roasted_on"),
            ("Bohnen|grains|granos|chicchi", "bag"),
            ("Notizen|Bemerkung|commentaires|notas|comentarios", "notes"),
        ],
    )
    def test_everyday_columns_are_known_in_five_languages(self, words: str, name: str) -> None:
        assert {taken(word) for word in words.split("|")} == {(name, "")}

    @pytest.mark.parametrize(
        ("text", "meant"),
        [
            ("yield", "beverage_g or ey_pct"),
            ("extraction", "time_s or ey_pct"),
            ("coffee", "bag or dose_g"),
            ("beans", "bag or dose_g"),
            ("weight", "dose_g or beverage_g"),
            ("weight (g)", "dose_g or beverage_g"),
            ("pressure", "peak_bar, hold_bar or end_bar"),
            ("pressure psi", "peak_bar, hold_bar or end_bar"),
            ("taper", "taper_bar or taper_start_s"),
            ("roast", "roast_level or roasted_on"),
            ("no", "shot or position"),
        ],
    )
    def test_a_word_of_two_meanings_is_asked_about(self, text: str, meant: str) -> None:
        assert doubt(text) == f"“{text}” may be {meant}: say which under [columns] in bench.toml."

    @pytest.mark.parametrize(
        ("text", "name"),
        [
            ("yield (g)", "beverage_g"),
            ("yield_g", "beverage_g"),
            ("yield %", "ey_pct"),
            ("yield_pct", "ey_pct"),
            ("extraction (s)", "time_s"),
            ("extraction [%]", "ey_pct"),
            ("coffee g", "dose_g"),
            ("beans (g)", "dose_g"),
            ("taper (bar)", "taper_bar"),
            ("taper (s)", "taper_start_s"),
            ("rest (d)", "roast_age_d"),
            ("rest (min)", "gap_min"),
        ],
    )
    def test_a_unit_decides_between_two_meanings(self, text: str, name: str) -> None:
        assert taken(text) == (name, "")

    def test_what_the_bench_says_wins(self) -> None:
        bench = Bench(columns={"yield": "beverage_g", "time": "preheat_min"})
        assert taken("Yield", bench)[0] == "beverage_g"
        assert taken("time", bench)[0] == "preheat_min"

    @pytest.mark.parametrize("word", ["strength", "cup"])
    def test_an_attribute_of_the_bench_wins(self, word: str) -> None:
        vocabulary = Vocabulary("shots", Bench(attributes=(Attribute(word),)))
        assert vocabulary.header(word) == Header(word, "attribute", word)

    @pytest.mark.parametrize("text", ["score", "Rating", "liking"])
    def test_how_good_it_was_is_the_one_attribute_of_the_bench(self, text: str) -> None:
        header = SHOTS.header(text)
        assert (header.role, header.name) == ("attribute", "overall")

    def test_of_two_attributes_the_score_is_asked_about(self) -> None:
        assert "may be the score of “sweet” or “bitter”" in doubt("rating", TWO_SCALES)

    def test_a_part_of_a_composed_shot_id_keeps_its_own_name(self) -> None:
        bench = Bench(shot_id=("date", "no"))
        assert taken("no", bench) == ("", "")
        assert doubt("date", bench) == ""
        assert taken("shot number", bench) == ("", "")

    def test_numbered_readings_are_known(self) -> None:
        assert [
            taken(text)[0] for text in ("TDS 1", "tds2", "strength reading 3", "tds_4_pct")
        ] == [f"tds_{number}_pct" for number in (1, 2, 3, 4)]

    @given(st.sampled_from(SHOT_QUANTITIES), st.sampled_from(SHOT_QUANTITIES))
    def test_no_name_means_another_quantity(self, one: Quantity, other: Quantity) -> None:
        assert one is other or one.name not in meanings_of(other.name, "shots")


class TestTastings:
    @pytest.mark.parametrize(
        ("words", "name"),
        [
            ("rating|Score|liking|points", "score"),
            ("judge|tasted by|Taster", "taster"),
            ("order|cup number", "tasting_order"),
            ("descriptor|Merkmal", "attribute"),
            ("cup code", "blind_code"),
            ("shot number", "shot"),
        ],
    )
    def test_their_columns_have_words_of_their_own(self, words: str, name: str) -> None:
        assert {taken(word, table="tastings") for word in words.split("|")} == {(name, "")}

    def test_they_know_nothing_of_the_pull(self) -> None:
        assert taken("grounds", table="tastings") == ("", "")


class TestTogether:
    def test_a_name_wins_over_a_general_word(self) -> None:
        headers = read_headers(["dose_g", "grounds"], SHOTS, "a.csv")
        assert [header.role for header in headers] == ["quantity", "extra"]
        assert header_remarks(headers) == [
            "“grounds” is kept as text: the column “dose_g” is dose_g already."
        ]

    @pytest.mark.parametrize("order", list(itertools.permutations(["grounds", "coffee in"])))
    def test_of_two_general_words_neither_is_taken(self, order: tuple[str, str]) -> None:
        headers = read_headers(order, SHOTS, "a.csv")
        assert {header.role for header in headers} == {"extra"}
        first, second = order
        (remark,) = header_remarks(headers)
        assert remark.startswith(f"“{first}” and “{second}” may each be dose_g: say which under")

    def test_every_general_word_taken_is_told(self) -> None:
        headers = read_headers(["shot", "coffee in", "Temp °F", "grind"], SHOTS, "a.csv")
        (remark,) = header_remarks(headers)
        assert remark == (
            "“coffee in” is read as dose_g, “Temp °F” as temp_c, given in °F, “grind” as "
            "grind_setting."
        )

    def test_two_columns_of_one_name_are_refused(self) -> None:
        with pytest.raises(UnreadableLogError, match="2 columns for dose_g"):
            read_headers(["dose_g", "Dose [g]"], SHOTS, "a.csv")

    def test_one_general_word_twice_is_refused(self) -> None:
        with pytest.raises(UnreadableLogError, match="2 columns for grounds"):
            read_headers(["grounds", "grounds"], SHOTS, "a.csv")


class TestUnits:
    @pytest.mark.parametrize(
        ("text", "name", "unit"),
        [
            ("Dose (g)", "dose_g", ""),
            ("dose [oz]", "dose_g", "oz"),
            ("Dose {oz}", "dose_g", "oz"),
            ("dose_oz", "dose_g", "oz"),
            ("dose in oz", "dose_g", "oz"),
            ("Dose / oz", "dose_g", "oz"),
            ("Dose, oz", "dose_g", "oz"),
            ("dose-oz", "dose_g", "oz"),
            ("dose_target_oz", "dose_target_g", "oz"),
            ("in (g)", "dose_g", ""),
            ("Temp °F", "temp_c", "°F"),
            ("Temp (F)", "temp_c", "F"),
            ("temp_f", "temp_c", "f"),
            ("room_f", "room_c", "f"),
            ("hold_psi", "hold_bar", "psi"),
            ("end_kPa", "end_bar", "kPa"),
            ("max pressure (psi)", "peak_bar", "psi"),
            ("time (min)", "time_s", "min"),
            ("preheat (s)", "preheat_min", "s"),
            ("TDS (%)", "tds_pct", ""),
            ("TDS%", "tds_pct", ""),
            ("TDS °Bx", "tds_pct", "°Bx"),
            ("tds_bx", "tds_pct", "bx"),
            ("Brix", "tds_pct", "Brix"),
            ("nD", "tds_pct", "nD"),
            ("TDS 2 [°Bx]", "tds_2_pct", "°Bx"),
            ("Time (mm:ss)", "time_s", ""),
            ("ratio (1:x)", "brew_ratio", ""),
            ("grind (clicks)", "grind_setting", ""),
            ("Barista (code)", "barista", ""),
            ("Roast date (dd/mm/yyyy)", "roasted_on", ""),
        ],
    )
    def test_they_are_split_off_as_typed(self, text: str, name: str, unit: str) -> None:
        assert taken(text) == (name, unit)

    @pytest.mark.parametrize(
        ("text", "reason"),
        [
            ("Dose (°C)", "“°C” has a unit we do not convert, and the column wants g"),
            ("temp (g)", "“g” has a unit we do not convert, and the column wants °C"),
            ("grind (g)", "and the column has no unit"),
            ("cup (mL)", "“mL” is a volume, and the column wants g"),
            ("dose (ml)", "“ml” is a volume"),
            ("Dose (lots)", "“lots” is no unit we know"),
            ("dose_g (oz)", "“oz” is another unit than its own"),
        ],
    )
    def test_one_that_does_not_fit_leaves_the_column_as_text(self, text: str, reason: str) -> None:
        assert reason in doubt(text)

    def test_a_volume_names_the_option_that_would_make_it_a_mass(self) -> None:
        assert "state density_g_per_ml under [reading] in bench.toml" in doubt("cup (mL)")
        assert "density" not in doubt("dose (mL)")

    def test_a_volume_of_stated_density_is_taken(self) -> None:
        assert taken("cup (mL)", Bench(density_g_per_ml=0.8)) == ("beverage_g", "mL")
        assert taken("dose (mL)", Bench(density_g_per_ml=0.8)) == ("", "")

    def test_a_header_of_the_benchs_own_states_its_unit_too(self) -> None:
        bench = Bench(columns={"Kaffee rein (oz)": "dose_g", "Stufe (g)": "grind_setting"})
        assert taken("Kaffee rein (oz)", bench) == ("dose_g", "oz")
        assert taken("Stufe (g)", bench) == ("grind_setting", "")

    def test_a_header_of_the_benchs_own_in_an_impossible_unit_is_kept_as_text(self) -> None:
        bench = Bench(columns={"Hot (°C)": "dose_g"})
        assert "“°C” has a unit we do not convert" in doubt("Hot (°C)", bench)

    @given(st.sampled_from([entry for entry in SHOT_QUANTITIES if entry.is_numeric]))
    def test_the_glossarys_own_unit_is_never_converted(self, entry: Quantity) -> None:
        beside = f"{entry.label} ({entry.unit})" if entry.unit != "1" else entry.label
        assert taken(beside) == (entry.name, "")


#: Numbers per glossary unit, each exact by definition: avoirdupois ounce, NIST SP 811.
OTHER_UNITS = {
    "dose_g": ("oz", lambda grams: grams / 28.349523125),
    "beverage_g": ("oz", lambda grams: grams / 28.349523125),
    "time_s": ("min", lambda seconds: seconds / 60),
    "temp_c": ("°F", lambda celsius: celsius * 9 / 5 + 32),
    "hold_bar": ("psi", lambda bar: bar / 0.06894757293168),
}
USUAL = (
    st.floats(14, 22),
    st.floats(25, 60),
    st.floats(15, 60),
    st.floats(76, 97),
    st.floats(6, 10),
)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where a log is written again and again."""
    return tmp_path_factory.mktemp("variants") / "shots.csv"


class TestVariantsOfOneLog:
    def read(self, path: Path, head: list[str], rows: list[list[float]]) -> pd.DataFrame:
        lines = [",".join(head), *(",".join(map(repr, row)) for row in rows)]
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        log = read_log(path)
        assert log.set_aside.empty
        return log.shots[list(OTHER_UNITS)]

    @settings(max_examples=30, deadline=None)
    @given(
        st.lists(st.tuples(*USUAL), min_size=1, max_size=4),
        st.sampled_from(["{} ({})", "{} / {}", "{} [{}]"]),
    )
    def test_units_in_headers_make_no_difference(
        self, path: Path, rows: list[tuple[float, ...]], form: str
    ) -> None:
        plain = self.read(path, list(OTHER_UNITS), [list(row) for row in rows])
        stems = ["Dose", "Beverage", "Shot time", "Temp", "Hold"]
        units, turns = zip(*OTHER_UNITS.values(), strict=True)
        head = [form.format(*pair) for pair in zip(stems, units, strict=True)]
        turned = [[turn(value) for turn, value in zip(turns, row, strict=True)] for row in rows]
        pd.testing.assert_frame_equal(self.read(path, head, turned), plain, rtol=1e-12, atol=0)


class TestRowOfUnits:
    def stated(
        self, texts: list[str], cells: list[str], bench: Bench | None = None
    ) -> list[tuple[str, str]]:
        vocabulary = Vocabulary("shots", bench or Bench())
        headers = read_headers(texts, vocabulary, "a.csv")
        row = Record(2, 1, ",".join(cells), cells)
        assert is_unit_row(cells, headers)
        headers = state_units(headers, [row], vocabulary, "a.csv")
        return [("" if each.role == "extra" else each.name, each.unit) for each in headers]

    def test_it_gives_columns_their_unit(self) -> None:
        assert self.stated(["shot", "dose_g", "temp", "time"], ["", "oz", "(°F)", "[s]"]) == [
            ("shot", ""),
            ("dose_g", "oz"),
            ("temp_c", "°F"),
            ("time_s", ""),
        ]

    def test_it_may_repeat_the_unit_of_the_header(self) -> None:
        assert self.stated(["Dose (oz)", "Temp °F"], ["oz", "F"]) == [
            ("dose_g", "oz"),
            ("temp_c", "F"),
        ]

    def test_it_decides_between_two_meanings(self) -> None:
        assert self.stated(["dose_g", "yield"], ["g", "g"])[1] == ("beverage_g", "")
        assert self.stated(["dose_g", "yield"], ["g", "%"])[1] == ("ey_pct", "")

    def test_it_decides_nothing_that_another_column_claims(self) -> None:
        assert self.stated(["cup", "yield"], ["g", "g"]) == [("", ""), ("", "")]

    @pytest.mark.parametrize(
        ("header", "unit", "message"),
        [
            ("Dose (g)", "oz", "a.csv, line 2: .* oz for dose_g, and the header “Dose \\(g\\)”"),
            ("Dose (oz)", "g", "and the header “Dose \\(oz\\)” another unit"),
            ("dose_g", "°C", "which has a unit we do not convert, and the column wants g"),
            ("beverage_g", "mL", "which is a volume"),
        ],
    )
    def test_it_is_refused_where_it_contradicts(
        self, header: str, unit: str, message: str
    ) -> None:
        with pytest.raises(UnreadableLogError, match=message):
            self.stated([header], [unit])

    def test_a_volume_of_stated_density_is_taken(self) -> None:
        bench = Bench(density_g_per_ml=0.8)
        assert self.stated(["beverage_g"], ["mL"], bench) == [("beverage_g", "mL")]

    @pytest.mark.parametrize("cells", [["a", "18", "36"], ["", "", ""], ["", "g", "36"]])
    def test_a_row_of_values_is_none(self, cells: list[str]) -> None:
        headers = read_headers(["shot", "dose_g", "time_s"], SHOTS, "a.csv")
        assert not is_unit_row(cells, headers)


class TestTellingAHeaderFromARow:
    @pytest.mark.parametrize("text", ["dose_g", "Time", "yield", "Temp °F", "score", "overall"])
    def test_what_may_name_a_column_is_known(self, text: str) -> None:
        assert SHOTS.knows(text)

    @pytest.mark.parametrize(
        "text", ["no", "in", "coffee", "18.5", "g", "", " ", "x" * 300, "2026"]
    )
    def test_what_cells_hold_as_well_is_not(self, text: str) -> None:
        assert not SHOTS.knows(text)


@given(st.text(max_size=40), st.sampled_from(["shots", "tastings"]))
def test_any_text_is_a_header(text: str, table: Table) -> None:
    header = Vocabulary(table, TWO_SCALES).header(text.strip())
    assert header.text == text.strip()
    if header.role == "quantity" and header.unit:
        assert quantity(header.name).is_numeric
    assert not (header.doubt and header.role != "extra")


@given(
    st.lists(
        st.sampled_from(
            ["dose", "grounds", "dose_oz", "yield", "cup", "time", "mood", "nD", "TDS"]
        ),
        unique=True,
        max_size=6,
    )
)
def test_no_two_columns_stand_for_one_quantity(texts: list[str]) -> None:
    headers = read_headers(texts, SHOTS, "a.csv")
    names = [header.name for header in headers if header.role == "quantity"]
    assert len(names) == len(set(names))
    assert [header.text for header in headers] == texts


@given(st.permutations(["dose", "grounds", "yield", "cup", "time", "score", "Temp °F"]))
def test_the_order_of_the_columns_does_not_matter(texts: list[str]) -> None:
    headers = read_headers(texts, SHOTS, "a.csv")
    assert {header.name for header in headers if header.role != "extra"} == {
        *("beverage_g", "time_s", "temp_c", "overall")
    }


@pytest.mark.parametrize(
    ("text", "name"), [("doseg", "dose_g"), ("beverag", "beverage_g"), ("mood", "")]
)
def test_the_nearest_name_is_offered_for_the_rest(text: str, name: str) -> None:
    assert nearest_name(text, "shots") == name
