"""The wall sheet of expected readings: complete, escaped, self-contained, readable, a PDF by the standards.

PDFs are read back by an independent reader (pypdf), pages by the standard library's readers of XML and HTML.
"""

from __future__ import annotations

import datetime
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdf
import pytest

from collaudo.bench.judging.catalogue import ListedCheck, list_checks
from collaudo.bench.sound.expect import _never_below_zero
from collaudo.bench.sound.expected import Expectations, Expected, ExpectedCheck, Given, in_units
from collaudo.checks.check import all_checks, cautions
from collaudo.cli.main import main
from collaudo.diagnosis.signature_set import ReadingInfo
from collaudo.errors import InputError
from collaudo.machine.load import library_ids
from collaudo.quantities.units import Choice
from collaudo.reports.files import form_of, write_wall_sheet
from collaudo.reports.typeset import TEMPLATES
from collaudo.reports.wall_sheet import wall_sheet
from collaudo.reports.wall_sheet_html import wall_sheet_html
from collaudo.reports.wall_sheet_pdf import MOST_PAGES, wall_sheet_pdf
from collaudo.reports.wording import ALWAYS, CLEARS_NOTHING, PROVES_NOTHING

DAY = datetime.date(2031, 3, 9)
HAZARDS = {caution: hazard for hazard, caution in cautions().items()}
MACHINES = library_ids()
READINGS = {reading.id: reading for check in all_checks() for reading in check.readings}


def invented(machine: str = "hx-vibration", title: str = "Machine of the tests") -> Expectations:
    """Every check the library makes on a machine, with numbers of no meaning."""
    listed = list_checks(machine)
    return Expectations(
        machine,
        title,
        [_reading(check, place) for check in listed for place in range(len(check.readings))],
        known={},
        unused=[],
        checks=[_check(check) for check in listed],
        site=[Given("mains", 225.0, "V"), Given("altitude", 900.0, "m")],
        settings=[Given("boiler pressure", 1.2, "bar")],
        open=["room", "boiler volume"],
        draws=64,
    )


def _reading(check: ListedCheck, place: int) -> Expected:
    listed = check.readings[place]
    of_library = READINGS[f"{check.check}.{listed.reading}"]
    about = (check.check, listed.reading, check.title, listed.title, listed.unit)
    if listed.outcomes:
        chances = {word: 1.0 / len(listed.outcomes) for word in listed.outcomes}
        return Expected(*about, None, listed.outcomes[0], None, chances, "", of_library.why)
    number, instrument = 11.5 + place, of_library.instrument.replace("_", " ")
    return Expected(*about, number - 1.0, number, number + 2.0, {}, instrument, of_library.why)


def _check(check: ListedCheck) -> ExpectedCheck:
    return ExpectedCheck(
        check.check, check.title, check.why, check.steps, check.tools, check.minutes, check.wait_minutes,
        check.needs, check.leaves, check.lid, [HAZARDS[text] for text in check.cautions], check.cautions,
    )  # fmt: skip


def html_of(found: Expectations) -> str:
    return wall_sheet_html(wall_sheet(found, DAY))


def pdf_of(found: Expectations) -> bytes:
    return wall_sheet_pdf(wall_sheet(found, DAY), DAY)


def read(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(pdf), strict=True)


def words(text: str) -> str:
    """Without the breaks of lines, which depend on the width of a column."""
    return re.sub(r"\s+", "", text)


def text_of(pdf: bytes) -> str:
    return words("".join(page.extract_text() for page in read(pdf).pages))


def body(page: str) -> ET.Element:
    """The page as XML; what is not well-formed raises."""
    return ET.fromstring(page.removeprefix("<!DOCTYPE html>\n"))


def shown(page: str) -> str:
    return words("".join(body(page).itertext()))


@pytest.fixture(scope="module")
def vibration() -> Expectations:
    return invented()


@pytest.fixture(scope="module")
def vibration_pdf(vibration: Expectations) -> bytes:
    return pdf_of(vibration)


# --- HTML -----------------------------------------------------------------------------------------------


class _Closed(HTMLParser):
    """Every element that is opened is closed, in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: set[str] = set()

    def handle_starttag(self, tag: str, _: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        self.seen.add(tag)

    def handle_startendtag(self, tag: str, _: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_page_is_well_formed_as_html_and_as_xml(vibration: Expectations) -> None:
    page = html_of(vibration)
    reader = _Closed()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    assert body(page).get("lang") == "en"


def test_the_page_asks_for_nothing_and_runs_nothing(vibration: Expectations) -> None:
    page = html_of(vibration)
    reader = _Closed()
    reader.feed(page)
    assert not reader.seen & {"script", "link", "img", "iframe", "object", "embed", "form", "base"}
    assert not re.search(r"""https?:|//\w|url\(|@import|\bsrc=|\bhref=|\bon\w+=""", page)
    assert "default-src 'none'" in page.replace("&#x27;", "'")


@pytest.mark.parametrize("machine", MACHINES)
def test_the_page_has_every_reading(machine: str) -> None:
    found = invented(machine)
    page = shown(html_of(found))
    for text in texts_of(found):
        assert words(text.replace("degC", "°C")) in page


MARKUP = ("<script>alert(1)</script>", "\"><b onclick='x'>&amp; & ]]>", '#import "x" $a$ *b*')


@pytest.mark.parametrize("text", MARKUP)
def test_what_looks_like_markup_is_shown_as_it_is(text: str) -> None:
    found = invented(title=text)
    found.site.append(Given(text, 1.0, "m"))
    page = html_of(found)
    assert "<script" not in page
    assert "<b " not in page
    assert shown(page).count(words(text)) >= 3  # the page's title, its heading, the site
    assert text_of(pdf_of(found)).count(words(text)) >= 2


def test_signs_that_no_page_can_show_are_left_out() -> None:
    found = invented(title="a\x00b\x1b[31mc\x07\nd")
    assert "ab[31mcd" in shown(html_of(found))
    assert "ab[31mcd" in text_of(pdf_of(found))


# --- PDF ------------------------------------------------------------------------------------------------


def texts_of(found: Expectations) -> Iterator[str]:
    """What must stand on a sheet: of every check and of every reading."""
    for check in found.checks:
        yield from (check.title, check.why, *check.cautions)
    for reading in found.readings:
        yield from (reading.title[0].upper() + reading.title[1:], reading.why, reading.instrument)
        if isinstance(reading.typical, str):
            yield reading.typical.replace("-", " ")
    yield from (*ALWAYS, PROVES_NOTHING, CLEARS_NOTHING)
    yield from (found.title, "225 V", "900 m", "1.20 bar", "9 March 2031")


@pytest.mark.parametrize("machine", MACHINES)
def test_the_pdf_has_every_reading_on_few_pages(machine: str) -> None:
    found = invented(machine)
    pdf = pdf_of(found)
    text = text_of(pdf)
    for wanted in texts_of(found):
        assert words(wanted.replace("degC", "°C")) in text
    assert 1 <= len(read(pdf).pages) <= MOST_PAGES


def test_every_number_stands_in_its_row(vibration: Expectations, vibration_pdf: bytes) -> None:
    text = " ".join(page.extract_text() for page in read(vibration_pdf).pages)
    for reading in vibration.readings:
        if isinstance(reading.typical, float) and reading.unit == "bar" and reading.typical < 20.0:
            assert reading.low is not None
            assert reading.high is not None
            row = rf"{reading.low:.1f}\s+{reading.typical:.1f}\s+{reading.high:.1f}\s+bar"
            assert re.search(row, text), reading.title


def test_pages_are_a4(vibration_pdf: bytes) -> None:
    """ISO 216: A4 is 210 mm by 297 mm; a point is 1/72 inch of 25.4 mm (ISO 32000-1, 8.3.2.3)."""
    for page in read(vibration_pdf).pages:
        box = page.mediabox
        assert float(box.width) == pytest.approx(210 / 25.4 * 72, abs=0.01)
        assert float(box.height) == pytest.approx(297 / 25.4 * 72, abs=0.01)


def test_the_pdf_says_it_keeps_the_standards(vibration_pdf: bytes) -> None:
    """ISO 19005-2 and ISO 14289-1: how a file names the part it keeps; ISO 32000-1, 14.8: tagged."""
    reader = read(vibration_pdf)
    root = reader.trailer["/Root"]
    metadata = root["/Metadata"].get_data().decode()  # type: ignore[index, union-attr]
    for statement in ("pdfaid:part>2<", "pdfaid:conformance>A<", "pdfuaid:part>1<"):
        assert statement in metadata
    assert root["/MarkInfo"]["/Marked"] == True  # type: ignore[index]  # noqa: E712  # pypdf's own boolean
    assert root["/Lang"] == "en"  # type: ignore[index]
    assert reader.metadata is not None
    assert reader.metadata.title == "Machine of the tests"


def test_every_font_is_embedded(vibration_pdf: bytes) -> None:
    fonts = [
        font.get_object()
        for page in read(vibration_pdf).pages
        for font in page["/Resources"]["/Font"].values()  # type: ignore[index]
    ]
    assert fonts
    for font in fonts:
        descriptor = font["/DescendantFonts"][0]["/FontDescriptor"]
        assert "/FontFile3" in descriptor or "/FontFile2" in descriptor
        assert "Inter" in font["/BaseFont"]


def test_the_same_content_gives_the_same_bytes(vibration: Expectations, vibration_pdf: bytes) -> None:
    assert pdf_of(vibration) == vibration_pdf
    assert html_of(vibration) == html_of(vibration)
    assert html_of(vibration) != wall_sheet_html(wall_sheet(vibration, DAY + datetime.timedelta(days=1)))


def test_long_titles_wrap_within_the_page() -> None:
    title = " ".join(f"heating-word{n}" for n in range(30)) + " " + "Donaudampfschifffahrt" * 4
    pdf = pdf_of(invented(title=title))
    starts: list[tuple[float, float]] = []

    def visit(text: str, matrix: list[float], place: list[float], *_: object) -> None:
        if text.strip():
            starts.append((place[4] * matrix[0] + matrix[4], place[5] * matrix[3] + matrix[5]))

    first = read(pdf).pages[0]
    text = words(first.extract_text(visitor_text=visit))
    assert all(word in text for word in title.split()[:30])
    assert max(x for x, _ in starts) < float(first.mediabox.width) - 11 / 25.4 * 72
    assert min(x for x, _ in starts) >= 0.0


@pytest.mark.parametrize("title", ["Kávéfőző, Ψυγείο, Кофе, Łódź, Ünlü, 9½ µS ≤ 3 Ω", "咖啡机 ☕", "מכונה"])
def test_titles_of_other_scripts_give_a_sheet(title: str) -> None:
    pdf = pdf_of(invented(title=title))
    assert len(read(pdf).pages) >= 1
    assert shown(html_of(invented(title=title))).count(words(title)) >= 2
    if "Ł" in title:
        assert words(title) in text_of(pdf)


# --- what stands on it, and in which order --------------------------------------------------------------


def test_groups_follow_the_machine_from_cold_to_hot_and_what_is_measured_dead_comes_first(
    vibration: Expectations,
) -> None:
    sheet = wall_sheet(vibration, DAY)
    assert [group.condition for group in sheet.groups] == ["any", "cold", "warm", "hot"]
    in_group = {group.condition: [block.title for block in group.blocks] for group in sheet.groups}
    dead = ["Plug, cord, main switch and earth, unplugged", "Meter at the terminals, unplugged"]
    assert in_group["cold"][:2] == dead
    assert in_group["warm"] == ["Warm-up from cold"]
    assert {"Blind disc", "Free flow, cold"} <= set(in_group["cold"])
    assert {"30 s of steam", "Flush after long idle"} <= set(in_group["hot"])
    assert sum(map(len, in_group.values())) == len(vibration.checks)


@pytest.mark.parametrize("machine", MACHINES)
def test_what_can_hurt_is_said_in_the_group_and_marked_at_the_check(machine: str) -> None:
    found = invented(machine)
    hazards = {check.title: check.hazards for check in found.checks}
    for group in wall_sheet(found, DAY).groups:
        said = dict(group.cautions)
        for block in group.blocks:
            assert block.tags[: len(hazards[block.title])] == hazards[block.title]
            assert set(hazards[block.title]) <= said.keys()
            assert "pressure" not in hazards[block.title] or "9 to 12 bar stay" in said["pressure"]


def test_nothing_is_said_that_must_never_be_said(vibration: Expectations) -> None:
    """Common practice, no source: no sheet calls a machine safe or a safety device something to get round."""
    main_part = body(html_of(vibration)).find("body")
    assert main_part is not None
    page = " ".join("".join(main_part.itertext()).split())
    assert "is safe" not in page
    for sentence in re.findall(r"[^.]*(?:bridge|adjust)[^.]*\.", page):
        assert "never" in sentence


def test_every_number_of_the_library_says_why_in_half_a_line() -> None:
    for check in all_checks():
        for reading in check.readings:
            if reading.formula is not None:
                assert 0 < len(reading.why) <= 100, f"{reading.id}: give it 'why: …'"
                assert not reading.why.endswith(".")


def test_the_usual_outcome_stands_out_and_rare_ones_are_left_out() -> None:
    chances = {"burnt-hot": 0.06, "none-at-all": 0.9, "x": 0.04}
    reading = Expected("look", "smell", "Look", "smell", "", None, "none-at-all", None, chances)
    check = ExpectedCheck("look", "Look", "Why.", [], [], 2.0, 0.0, "any", "any", "off", [], [])
    found = Expectations("m", "M", [reading], {}, [], [check], [], [], [], 64)
    (row,) = wall_sheet(found, DAY).groups[0].blocks[0].rows
    assert (row.usual, row.others) == ("none at all", "burnt hot")
    assert wall_sheet(found, DAY).groups[0].blocks[0].tags == ["lid off"]
    assert wall_sheet(found, DAY).site.startswith("Not said")


@pytest.mark.parametrize(
    ("unit", "drawn", "clamped"),
    [
        ("g", [0.0, 0.0, 0.3], True),
        ("g", [-8.0, 2.0, 3.0], False),  # a gain that may be a loss
        ("bar", [0.2, 3.0, 8.0], True),
        ("bar", [0.0, 0.0, 0.0], False),  # the difference of two gauges
        ("K", [1.0, 4.0, 9.0], False),
        ("s", [np.nan, 12.0, 15.0], True),
        ("s", [np.nan, np.nan, np.nan], False),
    ],
)
def test_nothing_below_zero_is_expected_where_nothing_can_be(
    unit: str, drawn: list[float], clamped: bool
) -> None:
    reading = ReadingInfo("c.r", "c", "r", unit, noise_sd=0.06)
    assert _never_below_zero(reading, np.array(drawn)) is clamped


# --- units ----------------------------------------------------------------------------------------------


def test_units_of_the_reader() -> None:
    """1 psi = 6.894 757 kPa, t/°F = 1.8 t/°C + 32 (NIST SP 811, appendix B.8; digits as given there)."""
    check = ExpectedCheck("a", "A", "Why.", [], [], 2.0, 0.0, "hot", "hot", "any", [], [])
    readings = [
        Expected("a", name, "A", name, unit, low, mid, high, {})
        for name, unit, low, mid, high in (
            ("gauge", "bar", 9.0, 9.5, 10.0),
            ("water", "degC", 88.0, 92.0, 96.0),
            ("legs", "K", 5.0, 7.0, 9.0),
            ("never", "bar", None, "never", None),
            ("weight", "g", 30.0, 36.0, 42.0),
        )
    ]
    found = Expectations(
        "m", "M", readings, {}, [], [check], [], [Given("boiler pressure", 1.2, "bar")], [], 64
    )
    turned = {item.reading: item for item in in_units(found, Choice("psi", "degF")).readings}
    assert turned["gauge"].typical == pytest.approx(950.0 / 6.894757, rel=1e-7)
    assert turned["water"].low == pytest.approx(88.0 * 1.8 + 32.0, abs=1e-9)
    assert turned["legs"].high == pytest.approx(9.0 * 1.8, abs=1e-9)
    assert turned["never"].typical == "never"
    assert turned["weight"] == readings[-1]
    page = shown(html_of(in_units(found, Choice("psi", "degF"))))
    assert "131138145psi" in page  # 9.0, 9.5, 10.0 bar = 130.5, 137.8, 145.0 psi
    assert "Boilerpressure17.4psi" in page
    assert in_units(found, Choice()) == found


# --- inks -----------------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.1."""
    shares = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [s / 12.92 if s <= 0.03928 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return float(np.dot([0.2126, 0.7152, 0.0722], linear))


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_inks_can_be_read_and_are_the_same_on_paper_and_screen() -> None:
    """WCAG 2.1, success criterion 1.4.3: 4.5 to 1."""
    paper = (TEMPLATES / "paper.typ").read_text(encoding="utf-8")
    screen = "".join(
        (TEMPLATES / name).read_text(encoding="utf-8") for name in ("paper.css", "wall_sheet.css")
    )
    inks = set(re.findall(r"#[0-9a-f]{6}", paper))
    assert inks == set(re.findall(r"#[0-9a-f]{6}", screen))
    backgrounds = {"#eef1f4", "#b9c2cc"}  # shade and rules, on which no text of the other inks is pale
    for ink in inks - backgrounds:
        assert contrast(ink, "#ffffff") >= 4.5
        assert contrast(ink, "#eef1f4") >= 4.5


# --- files and the command ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("sheet.txt", "a sheet is no .txt"),
        ("sheet", "end the name in .html or .pdf"),
        ("sheet.pfd", "did you mean"),
        ("none/sheet.pdf", "there is no folder"),
        ("folder.pdf", "this is a folder"),
    ],
)
def test_names_that_cannot_be_written_are_refused_before_anything_is_computed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, said: str
) -> None:
    (tmp_path / "folder.pdf").mkdir()
    file = str(tmp_path / name)
    with pytest.raises(InputError, match=re.escape(said)):
        form_of(file)
    assert main(["expect", "no-such-machine", "-o", file]) == 2
    assert said in capsys.readouterr().err


def test_the_ending_says_the_form(tmp_path: Path, vibration: Expectations) -> None:
    for name, begin in (("a.PDF", b"%PDF-"), ("a.html", b"<!DOCTYPE html>")):
        write_wall_sheet(str(tmp_path / name), vibration, DAY)
        assert (tmp_path / name).read_bytes().startswith(begin)


def test_the_command_writes_a_sheet_in_the_units_asked_for(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    vibration: Expectations,
) -> None:
    asked: list[object] = []

    def given(*arguments: object) -> Expectations:
        asked.extend(arguments[:3])
        return vibration

    monkeypatch.setattr("collaudo.bench.sound.expect.expect", given)
    file = tmp_path / "sheet.html"
    options = ["--site", "mains_V=225", "--units", "psi", "--units", "degF", "-o", str(file)]
    assert main(["expect", "hx-vibration", *options]) == 0
    printed = capsys.readouterr()
    assert printed.out == ""
    assert f"{len(vibration.readings)} readings of {len(vibration.checks)} checks" in printed.err
    assert asked == ["hx-vibration", {"mains_V": "225"}, {}]
    page = shown(file.read_text(encoding="utf-8"))
    assert "psi" in page
    assert "°F" in page
    today = datetime.date.today()
    assert f"{today.day}{today:%B}{today.year}" in page
    assert main(["expect", "hx-vibration", "--units", "kelvin"]) == 2
