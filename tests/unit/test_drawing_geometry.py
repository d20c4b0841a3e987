"""Paper, stances, letters, symbols and colours of the drawings."""

from __future__ import annotations

import re
from importlib import resources

import pytest
import yaml

from collaudo.drawing.flows import BOUNDS_DEGC, Flow, arrow, colour
from collaudo.drawing.items import Text, label_at
from collaudo.drawing.letters import text_width, wrapped
from collaudo.drawing.page import BORDER, LEFT, SHEETS, TITLE_WIDTH, page_for
from collaudo.drawing.plane import AWAY, SIDES, STEP, Box, Stance
from collaudo.drawing.svg import crossings, group, path_of, text_svg
from collaudo.drawing.symbols import symbol, symbol_of, water_symbol
from collaudo.parts.part import Part, all_kinds

FOLDER = resources.files("collaudo.drawing") / "symbols"
FILES = sorted(path.name.removesuffix(".yaml") for path in FOLDER.iterdir() if path.name.endswith(".yaml"))
STANCES = [Stance(quarters, mirrored) for quarters in range(4) for mirrored in (False, True)]
UNIT_MM = 0.25


def test_sheets_have_the_sizes_of_iso_216() -> None:
    # ISO 216, A series: A4 210 mm by 297 mm, A3 297 mm by 420 mm (whole millimetres, exact).
    sizes = {name: tuple(side * UNIT_MM for side in size) for name, size in SHEETS.items()}
    assert sizes == {
        "A4": (297.0, 210.0),
        "A4 upright": (210.0, 297.0),
        "A3": (420.0, 297.0),
        "A3 upright": (297.0, 420.0),
    }


def test_borders_and_title_block_keep_to_iso_5457_and_iso_7200() -> None:
    # ISO 5457: 20 mm at the left, 10 mm elsewhere. ISO 7200: title block no wider than 180 mm (from memory).
    assert (LEFT * UNIT_MM, BORDER * UNIT_MM) == (20.0, 10.0)
    assert TITLE_WIDTH * UNIT_MM <= 180.0


@pytest.mark.parametrize(
    ("width", "height", "name"),
    [(500, 400, "A4"), (400, 800, "A4 upright"), (1500, 900, "A3"), (900, 1400, "A3 upright")],
)
def test_the_smallest_sheet_that_takes_a_drawing_is_taken(width: float, height: float, name: str) -> None:
    assert page_for(Box(0, 0, width, height)).name == name


def test_a_drawing_is_never_made_larger_and_made_smaller_only_on_the_largest() -> None:
    assert page_for(Box(0, 0, 100, 100)).scale == 1.0
    large = page_for(Box(0, 0, 4000, 3000))
    assert large.name.startswith("A3")
    assert large.scale < 0.5


@pytest.mark.parametrize("stance", STANCES)
def test_where_a_stance_puts_a_point_is_where_its_transform_puts_it(stance: Stance) -> None:
    width, height, x, y = 60.0, 40.0, 12.0, 7.0
    at_x, at_y = x, y
    for word, numbers in reversed(re.findall(r"(\w+)\(([^)]*)\)", stance.transform(100, 200, width, height))):
        values = [float(number) for number in numbers.split()]
        if word == "translate":
            at_x, at_y = at_x + values[0], at_y + values[1]
        elif word == "scale":
            at_x, at_y = at_x * values[0], at_y * values[1]
        else:
            assert word == "rotate"
            for _ in range(int(values[0]) // 90):  # SVG 1.1, 7.6: clockwise, y downward
                at_x, at_y = -at_y, at_x
    moved = stance.point(x, y, width, height)
    assert (at_x, at_y) == (100 + moved[0], 200 + moved[1])


@pytest.mark.parametrize("stance", STANCES)
@pytest.mark.parametrize("side", SIDES)
def test_a_port_still_faces_away_from_its_side(stance: Stance, side: str) -> None:
    width, height = 60.0, 40.0
    dx, dy = AWAY[side]
    middle = (width / 2, height / 2)
    at = stance.point(middle[0] + dx * width / 2, middle[1] + dy * height / 2, width, height)
    size = stance.size(width, height)
    away = AWAY[stance.side(side)]
    assert at == (size[0] / 2 + away[0] * size[0] / 2, size[1] / 2 + away[1] * size[1] / 2)


def test_text_is_as_wide_as_the_face_sets_it() -> None:
    # DejaVu Sans 2.37, table hmtx, units of 1/2048: space 651, a 1255, i 569, W 2025; bold a 1382.
    widths = {" ": 651, "a": 1255, "i": 569, "W": 2025}
    for letter, units in widths.items():
        # the table has whole thousandths
        assert text_width(letter, 1000.0) == pytest.approx(1000.0 * units / 2048, abs=0.5)
    assert text_width("a", 1000.0, bold=True) == pytest.approx(1000.0 * 1382 / 2048, abs=0.5)
    assert text_width("ai", 12.0) == pytest.approx(text_width("a", 12.0) + text_width("i", 12.0))


def test_a_letter_the_table_lacks_takes_the_type_size() -> None:
    assert text_width("水", 12.0) == 12.0


def test_labels_break_between_words_and_never_within() -> None:
    assert wrapped("brew thermostat", 40.0) == ["brew", "thermostat"]
    assert wrapped("a b", 1000.0) == ["a b"]
    assert wrapped("", 10.0) == []


@pytest.mark.parametrize("side", SIDES)
def test_a_label_stands_outside_its_symbol_on_its_side(side: str) -> None:
    for text in label_at(side, 40.0, 40.0, "relief valve", ("9.2 bar",)):
        assert not text.box.overlaps(Box(0, 0, 40, 40))
        dx, dy = AWAY[side]
        middle = ((text.box.left + text.box.right) / 2 - 20, (text.box.top + text.box.bottom) / 2 - 20)
        assert middle[0] * dx + middle[1] * dy > 20


@pytest.mark.parametrize("name", FILES)
def test_every_symbol_says_which_standard_it_follows(name: str) -> None:
    head = (FOLDER / f"{name}.yaml").read_text(encoding="utf-8").splitlines()[0]
    assert head.startswith("# ")
    assert re.search(r"ISO \d+|IEC 60617", head) or name in {"box", "dip_tube"}


@pytest.mark.parametrize("name", [name for name in FILES if symbol(name, "water")])
def test_ports_lie_on_the_edge_of_their_symbol_and_on_the_lattice(name: str) -> None:
    shown = symbol(name, "water")
    assert shown is not None
    assert shown.width % STEP == shown.height % STEP == 0
    for port, place in shown.ports.items():
        edge = {
            "W": place.x == 0,
            "E": place.x == shown.width,
            "N": place.y == 0,
            "S": place.y == shown.height,
        }
        assert edge[place.side], port
        assert place.x % STEP == place.y % STEP == 0, port


@pytest.mark.parametrize("name", FILES)
def test_symbols_use_the_classes_of_the_style_sheet_alone(name: str) -> None:
    style = (resources.files("collaudo.drawing") / "style.css").read_text(encoding="utf-8")
    text = (FOLDER / f"{name}.yaml").read_text(encoding="utf-8")
    assert "style=" not in text
    for words in re.findall(r'class="([^"]*)"', text):
        for word in words.split():
            assert f".{word}" in style or word in {"seat", "bed", "lead", "water-level"}, word


@pytest.mark.parametrize("kind", sorted(all_kinds()))
def test_the_symbol_of_a_kind_has_a_place_for_each_of_its_ports(kind: str) -> None:
    part = all_kinds()[kind]("it")
    shown = water_symbol(part)
    if part.ports and shown.name != "box":
        assert set(part.ports) - set(shown.ports) - set(shown.sides) == set()


def test_a_kind_without_a_symbol_is_a_box() -> None:
    class Novelty(Part):
        """A part nobody has drawn yet."""

        kind = ""

    assert water_symbol(Novelty("it")).name == "box"
    assert symbol_of(Novelty("it"), "current") is None


def luminance(colour_hex: str) -> float:
    """Relative luminance (WCAG 2.1, definition)."""
    shares = [int(colour_hex[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [share / 12.92 if share <= 0.03928 else ((share + 0.055) / 1.055) ** 2.4 for share in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def scale_colours() -> tuple[list[str], list[str]]:
    style = (resources.files("collaudo.drawing") / "style.css").read_text(encoding="utf-8")
    found = re.findall(r"\.flows\.t\d \{\s*stroke: (#[0-9a-f]{6});", style)
    count = len(BOUNDS_DEGC) + 1
    assert len(found) == 2 * count
    return found[:count], found[count:]


def test_the_formula_of_contrast_gives_the_known_extremes() -> None:
    # WCAG 2.1: contrast of black and white is 21 to 1.
    assert (luminance("#ffffff") + 0.05) / (luminance("#000000") + 0.05) == pytest.approx(21.0, abs=1e-9)


def test_colours_of_the_scale_stand_out_from_white_and_from_dark() -> None:
    # WCAG 2.1, 1.4.11: at least 3 to 1 for what carries a meaning.
    on_white, on_dark = scale_colours()
    assert all(1.05 / (luminance(one) + 0.05) >= 3.0 for one in on_white)
    ground = luminance("#15181b") + 0.05
    assert all((luminance(one) + 0.05) / ground >= 3.0 for one in on_dark)


def test_the_scale_goes_from_blue_to_orange_so_that_who_sees_no_red_or_green_reads_it() -> None:
    # Blue against yellow is kept in protanopia and deuteranopia: it grows steadily along the scale.
    for colours in scale_colours():
        yellow = [int(one[1:3], 16) + int(one[3:5], 16) - 2 * int(one[5:7], 16) for one in colours]
        middle = len(yellow) // 2
        assert all(value < 0 for value in yellow[:middle])
        assert all(value > 0 for value in yellow[middle + 1 :])


def test_a_temperature_has_the_colour_of_its_step() -> None:
    assert [colour(degC) for degC in (20, 29.9, 30, 60, 93, 100, 120)] == [0, 0, 1, 2, 4, 5, 6]


def test_what_flows_is_written_in_spoken_digits() -> None:
    assert Flow(8.123, 93.4, 0.0).text == "8.1 g/s 93 °C"
    assert Flow(-0.123, 20.0, 0.0).text == "0.12 g/s 20 °C"
    assert Flow(1.0, 120.0, 0.9).text == "1.0 g/s steam 120 °C"
    assert Flow(0.001, 20.0, 0.0).still


def test_an_arrow_points_the_way_the_flow_goes() -> None:
    assert arrow([(0, 0), (100, 0)], 1.0) == "M57 0L45 -5V5Z"
    assert arrow([(0, 0), (100, 0)], -1.0) == "M43 0L55 -5V5Z"
    assert arrow([(0, 100), (0, 0)], 1.0) == "M0 43L-5 55H5Z"
    assert arrow([(0, 0), (10, 0)], 1.0) == ""


def test_a_level_line_hops_over_an_upright_one() -> None:
    ways = [[(0.0, 50.0), (100.0, 50.0)], [(40.0, 0.0), (40.0, 100.0)]]
    assert crossings(ways) == [(40.0, 50.0)]
    assert path_of(ways[0], crossings(ways)) == "M0 50H34a6 6 0 0 1 12 0H100"
    assert path_of(ways[0][::-1], crossings(ways)) == "M100 50H46a6 6 0 0 0 -12 0H0"
    assert path_of(ways[1], crossings(ways)) == "M40 0V100"


def test_what_a_machine_file_says_cannot_become_markup() -> None:
    assert "&lt;b&gt;" in text_svg(Text("<b>", 0, 0))
    assert "&lt;" in group("part-x", "part", [], "a < b")


def test_the_table_of_letters_gives_each_letter_one_width() -> None:
    text = (resources.files("collaudo.drawing") / "letters.yaml").read_text(encoding="utf-8")
    for face in yaml.safe_load(text).values():
        letters = [letter for row in face.values() for letter in row]
        assert [letter for letter in set(letters) if letters.count(letter) > 1] == []
