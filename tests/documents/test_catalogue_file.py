"""A maker's rows from CSV: what is right arrives in SI; everything wrong is named by row and column, all at once."""

import pytest

from wetrun.documents.catalogue_file import catalogue_template, read_catalogue
from wetrun.errors import InputProblems
from wetrun.quantity import Kind, System, read, show
from wetrun.spray.droplets import DropletClass, Family
from wetrun.spray.orifice import FlowRows, OrificeLaw, law_of_iso_size

HEADER = (
    "ident,name,size,angle,family,pressure (psi),flow (gal/min),class,"
    "min_pressure (psi),max_pressure (psi),price,pulse\n"
)


def si(text, kind):
    return read(text, kind).si_value


@pytest.fixture
def tips_in(tmp_path):
    def write(text, encoding="utf-8"):
        path = tmp_path / "tips.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return read_catalogue(path)

    return write


@pytest.fixture
def problems_in(tips_in):
    def refuse(text):
        with pytest.raises(InputProblems) as refused:
            tips_in(text)
        for problem in refused.value.problems:
            assert problem.file == "tips.csv"
            assert len(problem.limit) > 8
            assert problem.remedy.endswith((".", "?"))
        return refused.value.problems

    return refuse


def test_the_template_is_accepted_as_it_stands(tips_in):
    fan, streamer = tips_in(catalogue_template())
    assert (fan.ident, fan.size, fan.family, fan.generic, fan.pulse) == (
        "example-04-ai",
        "04",
        Family.AIR_INDUCTION,
        False,
        False,
    )
    assert fan.price_cents == 940
    assert (fan.low_pa, fan.high_pa) == pytest.approx((si("30 psi", Kind.PRESSURE), si("100 psi", Kind.PRESSURE)))
    assert [row.droplet_class.name for row in fan.pattern.rows] == ["UC", "XC", "VC", "C"]
    assert streamer.pattern is None
    assert isinstance(streamer.law, FlowRows)
    assert streamer.height_note == "as high above the crop as the tips are apart"
    assert fan.height_note == ""


def test_flow_comes_from_the_rows_and_never_from_beyond_them(tips_in):
    fan = tips_in(catalogue_template())[0]
    for pressure, flow in (("30 psi", "0.35 gal/min"), ("40 psi", "0.40 gal/min"), ("100 psi", "0.63 gal/min")):
        assert fan.law.flow_m3s(si(pressure, Kind.PRESSURE)) == pytest.approx(si(flow, Kind.TIP_FLOW), rel=1e-9)


def test_one_flow_gives_the_square_root_law_and_none_the_nominal_one(tips_in):
    rows = "a,,04,110,flat fan,40,0.41,,15,60,,\nb,,04,110,flat fan,40,,M,15,60,,yes\n"
    one, none = tips_in(HEADER + rows)
    assert isinstance(one.law, OrificeLaw)
    assert one.law.flow_m3s(si("40 psi", Kind.PRESSURE)) == pytest.approx(si("0.41 gal/min", Kind.TIP_FLOW))
    assert none.law.coef_m3spa05 == law_of_iso_size("04").coef_m3spa05
    assert none.pattern.rows[0].droplet_class is DropletClass.M
    assert none.pulse is True


def test_a_size_outside_the_iso_sizes_goes_by_its_flow(tips_in):
    (tip,) = tips_in(HEADER + "a,,half-way,80,pre-orifice,20,0.30,,20,60,,\n" + "a,,,,,60,0.52,C,,,,\n")
    at_3_bar = tip.law.flow_m3s(si("3 bar", Kind.PRESSURE))
    assert tip.pattern.size_number == pytest.approx(at_3_bar / si("0.4 L/min", Kind.TIP_FLOW))


def test_a_streamer_without_a_height_rule_points_to_its_makers(tips_in):
    rows = "a,,05,,streamer,20,0.36,,20,60,,\na,,,,,60,0.60,,,,,\n"
    (without,) = tips_in(HEADER + rows)
    assert "own rule for boom height" in without.height_note
    (with_rule,) = tips_in(
        HEADER.replace("pulse", "pulse,Height rule") + rows.replace(",,\na", ",,,20 in over crop\na")
    )
    assert with_rule.height_note == "20 in over crop"


def test_units_may_stand_in_the_cells_and_a_semicolon_may_part_them(tips_in):
    text = (
        "Ident;Size;Angle;Family;Pressure (bar);Flow;Class;Min pressure;Max pressure\n"
        "a;04;110;Flat fan;2,1;1,34 L/min;M;1 bar;4,2 bar\n"
        "a;;;;210 kPa;;;;\n"
    )
    with pytest.raises(InputProblems, match="210 kPa stands in row 2 already"):
        tips_in(text)
    (tip,) = tips_in(text.replace("a;;;;210 kPa;;;;\n", ""))
    assert show(tip.high_pa, Kind.PRESSURE, System.SI) == "4.20 bar"
    assert show(tip.law.flow_m3s(si("2.1 bar", Kind.PRESSURE)), Kind.TIP_FLOW, System.SI) == "1.34 L/min"


def test_the_range_is_that_of_the_rows_if_none_is_stated(tips_in):
    (tip,) = tips_in(HEADER + "a,,04,110,flat fan,60,,M,,,,\n" + "a,,,,,20,,C,,,,\n")
    assert show(tip.low_pa, Kind.PRESSURE, System.US) == "20.0 psi"
    assert show(tip.high_pa, Kind.PRESSURE, System.US) == "60.0 psi"


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"\xef\xbb\xbf" + catalogue_template().encode(), "Example wide low-drift 110-04"),
        (catalogue_template().replace("Example wide", "Exämple").encode("cp1252"), "Exämple low-drift 110-04"),
        (catalogue_template().replace("\n", "\r\n").encode(), "Example wide low-drift 110-04"),
        (catalogue_template().replace(",", "\t").encode(), "Example wide low-drift 110-04"),
    ],
    ids=["byte order mark", "Windows-1252", "Windows line ends", "tabs"],
)
def test_what_spreadsheets_do_to_a_file_is_read(tips_in, raw, words):
    assert tips_in(raw)[0].words == words


ROW = "a,Name,04,110,flat fan,40,0.40,M,15,60,5.20,no\n"
BROKEN = [
    (HEADER + ROW.replace(",40,", ",40 gal,"), ["row 2, pressure"], "psi, bar, kPa"),
    (HEADER.replace(" (psi)", "") + ROW, ["row 2, pressure", "row 2, min_pressure", "row 2, max_pressure"], "no unit"),
    (HEADER + ROW.replace(",40,", ",-40,"), ["row 2, pressure"], "from 1.00 psi to 400 psi"),
    (HEADER + ROW.replace(",0.40,", ",4.0,"), ["row 2, flow"], "9.87 times what size 04 gives"),
    (HEADER + ROW.replace(",0.40,", ",nan,"), ["row 2, flow"], "does not begin with a number"),
    (HEADER + ROW.replace(",M,", ",Q,"), ["row 2, class"], "“q” is no droplet class"),
    (HEADER + ROW.replace(",M,", ",M or coarser,"), ["row 2, class"], "one class"),
    (HEADER + ROW.replace("flat fan", "flood"), ["row 2, family"], "air induction"),
    (HEADER + ROW.replace("5.20", "$5"), ["row 2, price"], "without a currency"),
    (HEADER + ROW.replace(",no", ",maybe"), ["row 2, pulse"], "yes or no"),
    (HEADER + ROW.replace(",110,", ",1100,"), ["row 2, angle"], "15.0 ° to 160 °"),
    (HEADER + ROW.replace(",110,", ",,"), ["row 2, angle"], "needs its angle"),
    (HEADER + ROW.replace("a,Name", ",Name"), ["row 2, ident"], "ident of its tip"),
    (HEADER + ROW.replace(",40,", ",,"), ["row 2, pressure"], "one row per pressure"),
    (HEADER + ROW.replace(",04,", ",,"), ["row 2, size"], "missing"),
    (HEADER + ROW.replace(",04,", ",4,").replace("0.40", ""), ["row 2, size"], "spreadsheet drops the zero"),
    (HEADER + ROW.replace(",15,60", ",,"), ["row 2, min_pressure", "row 2, max_pressure"], "maker's pressure range"),
    (HEADER + ROW.replace(",15,60", ",60,15"), ["row 2, max_pressure"], "Greatest pressure of the tip"),
    (HEADER + ROW.replace(",15,60", ",45,60"), ["row 2, pressure"], "Pressure of a class row"),
    (HEADER + ROW + ROW, ["row 3, pressure"], "stands in row 2 already"),
    (HEADER + ROW + "a,,05,,,60,0.49,F,,,,\n", ["row 3, size"], "“05” here and “04” in row 2"),
    (
        HEADER.replace("pulse", "pulse,height_rule") + ROW.replace(",no\n", ",no,low\n") + "a,,,,,50,0.45,M,,,,,high\n",
        ["row 3, height_rule"],
        "“high” here and “low” in row 2",
    ),
    (HEADER + ROW + "a,,,,,50,0.39,M,,,,\n", ["row 3, flow"], "Flow of a flow row"),
    (
        HEADER + ROW.replace(",15,60", ",40,50") + "a,,,,,50,0.45,VC,,,,\n",
        ["row 2, pressure"],
        "M to VC",
    ),
    (HEADER + ROW + "a,,,,,50,0.45,M,,,,\n", ["row 2, pressure"], "do not reach from min_pressure"),
    (HEADER + ROW.replace("flat fan", "streamer"), ["row 2, flow"], "known only by its rows"),
    (HEADER + ROW.replace("a,Name", "iso-11004-ff,Name"), ["row 2, ident"], "built-in generic tip"),
    (HEADER + ROW.replace("0.40", "0,40"), ["row 2"], "13 cells, the header 12"),
    (HEADER.replace("pulse", "pulses") + ROW, ["row 1"], "“pulse”"),
    (HEADER.replace("price", "pulse") + ROW, ["row 1"], "twice"),
    ("a,b,c\n" + ROW, ["row 1"] * 7, "the column ident is missing"),
    (HEADER, [""], "no rows below the header"),
    ("# format_version: 9\n" + HEADER + ROW, ["row 1"], "newer Wetrun"),
    ("# nothing\n", ["row 1"], "no header row"),
    ("", [""], "empty"),
    (bytes(100), [""], "is zero"),
    (HEADER.encode("utf-16"), [""], "UTF-16"),
    (HEADER + '"' + "x" * 200_000 + '"\n', [""], "no table of text"),
]


@pytest.mark.parametrize(("text", "keys", "words"), BROKEN, ids=[words for _, _, words in BROKEN])
def test_a_broken_catalogue_names_row_column_limit_and_remedy(problems_in, text, keys, words):
    problems = problems_in(text)
    assert [problem.key for problem in problems] == keys
    assert words in "\n".join(map(str, problems))


def test_every_bad_row_is_told_at_once(problems_in):
    rows = [ROW, ROW.replace("a,", "b,").replace(",M,", ",Q,"), ROW.replace("a,", "c,").replace("5.20", "five")]
    rows.append(ROW.replace("a,", "d,").replace(",04,", ",,"))
    assert {problem.key for problem in problems_in(HEADER + "".join(rows))} == {
        "row 3, class",
        "row 4, price",
        "row 5, size",
    }
