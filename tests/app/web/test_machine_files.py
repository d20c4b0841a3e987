"""Files of one's own machines: kept whole, kept inside their folder, kept with what they were before."""

from __future__ import annotations

from pathlib import Path

import pytest

from collaudo.bench.machines.check import DEVICES, TAKEN, check_text
from collaudo.bench.machines.files import KEPT_VERSIONS, ChangedMeanwhileError, MachineFiles
from collaudo.bench.machines.form import changed_text, form_of
from collaudo.bench.machines.help import help_for
from collaudo.bench.machines.library import check_machine
from collaudo.bench.machines.new import Answer, new_questions, new_text
from collaudo.bench.machines.shelf import Shelf
from collaudo.errors import InputError, MachineFileError, UnknownNameError
from collaudo.machine.library import library_ids
from collaudo.machine.load import find_machine

LEFT = "machine: shop-left\ntitle: Left one\nlike: hx-vibration\nparts:\n  boiler: {volume_l: 2}  # weighed\n"


@pytest.fixture
def files(tmp_path: Path) -> MachineFiles:
    return MachineFiles(Shelf(tmp_path / "data"))


def test_a_machine_added_is_found_and_read(files: MachineFiles) -> None:
    assert files.add(LEFT).machine == "shop-left"
    assert files.shelf.own_ids() == ["shop-left"]
    assert find_machine(files.shelf.place_of("shop-left")).value("boiler.volume_l") == 2.0
    assert files.read("shop-left").text == LEFT


def test_saving_keeps_what_was_there_before(files: MachineFiles) -> None:
    written = files.add(LEFT)
    texts = [LEFT]
    for litres in ("2.1", "2.2", "2.3"):
        texts.append(LEFT.replace("volume_l: 2}", f"volume_l: {litres}}}"))
        written = files.save("shop-left", texts[-1], written.mark)
    assert [version.number for version in files.versions("shop-left")] == [1, 2, 3]
    assert [files.older("shop-left", number) for number in (1, 2, 3)] == [texts[2], texts[1], texts[0]]
    assert files.read("shop-left").text == texts[3]


def test_only_so_many_versions_are_kept(files: MachineFiles) -> None:
    written = files.add(LEFT)
    for n in range(KEPT_VERSIONS + 5):
        written = files.save("shop-left", LEFT + f"# {n}\n", written.mark)
    assert len(files.versions("shop-left")) == KEPT_VERSIONS
    assert files.older("shop-left", 1).endswith(f"# {KEPT_VERSIONS + 3}\n")


def test_a_text_that_cannot_be_used_changes_nothing(files: MachineFiles) -> None:
    written = files.add(LEFT)
    for bad in ("", "{", LEFT.replace("volume_l", "volum_l"), LEFT.replace("shop-left", "other"), "\x00"):
        with pytest.raises(MachineFileError):
            files.save("shop-left", bad, written.mark)
    assert files.read("shop-left") == written
    assert files.versions("shop-left") == []


def test_a_file_changed_elsewhere_is_not_overwritten(files: MachineFiles) -> None:
    opened = files.add(LEFT)
    files.save("shop-left", LEFT + "# elsewhere\n", opened.mark)
    with pytest.raises(ChangedMeanwhileError):
        files.save("shop-left", LEFT + "# here\n", opened.mark)
    assert files.read("shop-left").text.endswith("# elsewhere\n")


def test_a_change_may_not_break_a_machine_that_is_like_it(files: MachineFiles) -> None:
    written = files.add(LEFT)
    files.add("machine: right\ntitle: Right\nlike: shop-left.yaml\nparts: {water_tap: {tip_bore_mm: 2}}\n")
    with pytest.raises(MachineFileError, match="right, which is like this machine, would no longer work"):
        files.save("shop-left", LEFT + "  water_tap: none\n", written.mark)
    assert files.read("shop-left").text == LEFT
    files.save("shop-left", LEFT.replace("volume_l: 2}", "volume_l: 3}"), written.mark)
    assert find_machine(files.shelf.place_of("right")).value("boiler.volume_l") == 3.0


def test_what_is_removed_can_be_brought_back_with_its_versions(files: MachineFiles) -> None:
    written = files.add(LEFT)
    files.save("shop-left", LEFT + "# later\n", written.mark)
    gone = files.remove("shop-left")
    assert files.shelf.own_ids() == []
    assert [one.machine for one in files.removed()] == ["shop-left"]
    with pytest.raises(UnknownNameError):
        files.shelf.place_of("shop-left")
    assert files.bring_back(gone.key) == "shop-left"
    assert files.read("shop-left").text.endswith("# later\n")
    assert files.older("shop-left", 1) == LEFT
    assert files.removed() == []


def test_one_removed_twice_lies_there_twice_and_its_place_is_not_taken(files: MachineFiles) -> None:
    files.add(LEFT)
    first = files.remove("shop-left")
    files.add(LEFT + "# second\n")
    second = files.remove("shop-left")
    assert {one.key for one in files.removed()} == {first.key, second.key}
    files.bring_back(first.key)
    with pytest.raises(InputError, match="again"):
        files.bring_back(second.key)
    assert files.read("shop-left").text == LEFT


def test_a_machine_others_are_like_is_not_removed(files: MachineFiles) -> None:
    files.add(LEFT)
    files.add("machine: right\ntitle: Right\nlike: shop-left.yaml\n")
    with pytest.raises(InputError, match="right is like this machine"):
        files.remove("shop-left")
    assert files.shelf.own_ids() == ["right", "shop-left"]


# --- nothing outside the folder is read or written ---------------------------------------------------------

OUTSIDE = (
    "../secret.yaml",
    "../machines/shop-left.yaml",
    "./shop-left.yaml",
    "sub/shop-left.yaml",
    "..\\secret.yaml",
    "/etc/passwd",
    "/etc/passwd.yaml",
    "file:///etc/passwd.yaml",
    "~/secret.yaml",
    "%2e%2e/secret.yaml",
    "shop-left.yml",
    "SHOP-LEFT.yaml",
    "shop-left.yaml.1",
    "shop-left",
    "",
    "hx-vibration/../x.yaml",
)


@pytest.mark.parametrize("like", OUTSIDE)
def test_a_text_can_be_like_machines_of_the_folder_and_library_alone(files: MachineFiles, like: str) -> None:
    files.add(LEFT)
    (files.shelf.folder.parent / "secret.yaml").write_text("secret: words\n", encoding="utf-8")
    text = f"machine: x\ntitle: x\nlike: '{like}'\n"
    (problem,) = check_text(files.shelf, text).problems
    assert problem.line == 3
    assert "neither in the library nor one of your own machines" in problem.message
    assert "secret: words" not in str(problem)
    for ask in (form_of, lambda shelf, text: changed_text(shelf, text, {"boiler.volume_l": "2"})):
        with pytest.raises(MachineFileError):
            ask(files.shelf, text)
    with pytest.raises(MachineFileError):
        files.add(text)


def test_a_file_laid_there_by_hand_that_leads_outside_is_not_followed(files: MachineFiles) -> None:
    outside = files.shelf.folder.parent / "outside.yaml"
    files.shelf.folder.mkdir(parents=True)
    outside.write_text(LEFT, encoding="utf-8")
    text = "machine: sly\ntitle: Sly\nlike: ../outside.yaml\n"
    (files.shelf.folder / "sly.yaml").write_text(text, encoding="utf-8")
    (files.shelf.folder / "slyer.yaml").write_text(
        text.replace("sly\n", "slyer\n").replace("../outside", "sly"), encoding="utf-8"
    )
    for machine in ("sly", "slyer"):
        with pytest.raises(MachineFileError, match="neither in the library"):
            files.shelf.place_of(machine)


def test_links_are_no_machines(files: MachineFiles, tmp_path: Path) -> None:
    files.shelf.folder.mkdir(parents=True)
    outside = tmp_path / "outside.yaml"
    outside.write_text(LEFT.replace("shop-left", "linked"), encoding="utf-8")
    try:
        (files.shelf.folder / "linked.yaml").symlink_to(outside)
    except OSError:
        pytest.skip("this system makes no links")
    assert files.shelf.own_ids() == []
    with pytest.raises(UnknownNameError):
        files.shelf.place_of("linked")
    assert check_text(files.shelf, "machine: x\ntitle: x\nlike: linked.yaml\n").problems
    with pytest.raises(MachineFileError, match="already"):
        files.add(LEFT.replace("shop-left", "linked"))
    assert outside.read_text(encoding="utf-8").startswith("machine: linked")


@pytest.mark.parametrize(
    "machine", ["../secret", "..", ".", "", "a/b", "a\\b", "shop-left.yaml", "A", "-a", "a" * 200, "a\x00"]
)
def test_a_name_that_is_no_id_finds_nothing(files: MachineFiles, machine: str) -> None:
    files.add(LEFT)
    for ask in (files.shelf.place_of, files.read, files.remove, files.versions):
        with pytest.raises(UnknownNameError):
            ask(machine)
    assert files.shelf.own_ids() == ["shop-left"]


@pytest.mark.parametrize("key", ["..", "../machines", "", "20260101-000000", ".", "x" * 300])
def test_a_removed_one_that_is_not_there_is_not_brought_back(files: MachineFiles, key: str) -> None:
    files.add(LEFT)
    with pytest.raises(UnknownNameError):
        files.bring_back(key)
    assert files.shelf.own_ids() == ["shop-left"]


@pytest.mark.parametrize("word", [*TAKEN, *DEVICES[:4], *library_ids()[:2], "a" * 61])
def test_an_id_that_means_something_else_is_refused(files: MachineFiles, word: str) -> None:
    with pytest.raises(MachineFileError) as fault:
        files.add(LEFT.replace("shop-left", word))
    assert fault.value.problems[0].line == 1


BOMB = "machine: x\ntitle: x\nparts: &a {b: &b {c: &c {d: 1}}}\nlines: [*a, *a, *b]\nwires: []\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (BOMB, "anchor"),
        ("[" * 5000, "nested|YAML"),
        (
            "machine: x\ntitle: x\nparts: {" + "".join(f"p{n}: {{}}, " for n in range(25_000)) + "}\n",
            "values|kB",
        ),
        ("x" * 300_000, "larger than"),
        ("!!python/object/apply:os.system ['true']", "tag"),
        ("machine: x\n---\nmachine: y\n", "second document"),
    ],
)
def test_texts_made_to_exhaust_or_surprise_are_refused(files: MachineFiles, text: str, said: str) -> None:
    with pytest.raises(MachineFileError, match=said) as fault:
        files.add(text)
    assert len(fault.value.problems) == 1


def test_a_circle_of_files_is_refused(files: MachineFiles) -> None:
    written = files.add(LEFT)
    files.add("machine: right\ntitle: Right\nlike: shop-left.yaml\n")
    with pytest.raises(MachineFileError, match="in turn"):
        files.save("shop-left", LEFT.replace("hx-vibration", "right.yaml"), written.mark)
    with pytest.raises(MachineFileError):
        files.save("shop-left", LEFT.replace("hx-vibration", "shop-left.yaml"), written.mark)


# --- the form and the help ---------------------------------------------------------------------------------


def test_the_form_tells_what_the_file_says_and_what_is_otherwise(files: MachineFiles) -> None:
    form = form_of(files.shelf, LEFT)
    fields = {field.key: field for part in form.parts for field in part.fields}
    volume, filled = fields["boiler.volume_l"], fields["boiler.filled_share"]
    assert (volume.value, volume.said, volume.otherwise, volume.unit) == (2, True, 1.8, "l")
    assert (filled.value, filled.said, filled.otherwise) == (0.62, False, 0.62)
    assert form.like == "hx-vibration"
    assert {setting.name for setting in form.settings} == {"boiler_pressure", "brew_pressure"}
    assert fields["group.surface_m2"].unit == "m2"
    assert "lever" in fields["inlet_valve.lever"].words


@pytest.mark.parametrize(
    ("typed", "bar"), [("9.5", None), ("9.5 bar", 9.5), ("130 psi", 8.96318), ("950 kPa", 9.5)]
)
def test_a_value_is_taken_in_the_unit_it_is_typed_in(
    files: MachineFiles, typed: str, bar: float | None
) -> None:
    """130 psi = 8.963 18 bar: 1 psi = 6 894.757 Pa (NIST SP 811, Appendix B.8), to six digits."""
    if bar is None:
        with pytest.raises(InputError):
            changed_text(files.shelf, LEFT, {"relief_valve.set_bar": typed})
        return
    changed = changed_text(files.shelf, LEFT, {"relief_valve.set_bar": typed})
    assert "# weighed" in changed
    files.add(changed)
    assert find_machine(files.shelf.place_of("shop-left")).value("relief_valve.set_bar") == pytest.approx(
        bar, rel=1e-6
    )


@pytest.mark.parametrize("typed", ["99 bar", "2 l", "much", "nan bar", "", "-1 bar"])
def test_a_value_that_cannot_be_is_refused(files: MachineFiles, typed: str) -> None:
    with pytest.raises(InputError, match="relief_valve"):
        changed_text(files.shelf, LEFT, {"relief_valve.set_bar": typed})


def test_a_form_can_be_mended_while_the_file_cannot_be_used(files: MachineFiles) -> None:
    bad = changed_text(files.shelf, LEFT, {"pressure_switch.opens_bar": "1.75 bar"})
    assert check_text(files.shelf, bad).problems
    assert not check_text(
        files.shelf, changed_text(files.shelf, bad, {"pressure_switch.opens_bar": "1.2 bar"})
    ).problems


@pytest.mark.parametrize(
    ("line", "column", "said"),
    [
        (3, 1, "a machine of the library"),
        (5, 4, "holds hot water"),
        (5, 14, "whole volume; 0.1 to 30 l"),
        (4, 2, "the parts"),
    ],
)
def test_the_word_at_the_cursor_is_explained(files: MachineFiles, line: int, column: int, said: str) -> None:
    assert said in help_for(files.shelf, LEFT, line, column).says


def test_the_ends_a_line_may_have_are_named(files: MachineFiles) -> None:
    text = LEFT + "lines:\n  - {from: boiler.st"
    assert (
        "boiler.steam"
        in help_for(files.shelf, text.replace(".st", ".steam, to: cup.in, bore_mm: 3}"), 7, 14).can_be
    )


def test_help_is_given_for_texts_that_are_not_finished(files: MachineFiles) -> None:
    for line in range(9):
        for text in ("", "{", "parts:\n  a: {kind: boi", LEFT + "  pump: {"):
            help_for(files.shelf, text, line, 8)
    kinds = help_for(files.shelf, "machine: x\nparts:\n  a: {kind: boi", 3, 15).can_be
    assert any(one.startswith("boiler:") for one in kinds)


# --- new ones ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("like", library_ids())
def test_a_new_machine_needs_no_answer_at_all(files: MachineFiles, like: str) -> None:
    assert len(new_questions(files.shelf, like)) >= 6
    files.add(new_text(files.shelf, like, "one", "", []))
    assert check_machine(files.shelf.place_of("one")).id == "one"


def test_a_new_machine_can_be_like_one_of_ones_own(files: MachineFiles) -> None:
    files.add(LEFT)
    files.add(new_text(files.shelf, "shop-left", "right", "Right", [Answer("tank.volume_l", "3 l")]))
    right = find_machine(files.shelf.place_of("right"))
    assert (right.value("boiler.volume_l"), right.value("tank.volume_l")) == (2.0, 3.0)


def test_every_answer_that_cannot_be_is_told_at_once(files: MachineFiles) -> None:
    answers = [
        Answer("boiler.volume_l", "2 bar"),
        Answer("tank.volume_l", "x"),
        Answer("brew_jet.bore_mm", "0.7 mm"),
    ]
    with pytest.raises(InputError) as fault:
        new_text(files.shelf, "hx-vibration", "one", "", answers)
    assert [one.message.partition(":")[0] for one in fault.value.problems] == [
        "boiler.volume_l",
        "tank.volume_l",
    ]
    assert not files.shelf.folder.exists()


@pytest.mark.parametrize("word", ["", "A", "../x", "new", "hx-rotary", "a b", "con"])
def test_a_short_name_that_cannot_be_is_refused(files: MachineFiles, word: str) -> None:
    with pytest.raises(InputError, match="machine"):
        new_text(files.shelf, "hx-vibration", word, "", [])
