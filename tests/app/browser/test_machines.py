"""Machines in the browser: making one, its file as a form and as text, drafts that survive, pictures."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.app.browser.conftest import OpenPage
from tests.app.browser.watching import Faults
from tests.app.served import Bench

TEXT = "machine: {id}\ntitle: Left one\nlike: hx-vibration\nparts:\n  boiler: {{volume_l: 2}}  # weighed\n"
REFUSED = r"status of 4(09|22)"
"""The browser writes every refusal into its console."""


def lay(bench: Bench, machine: str, text: str = TEXT) -> Path:
    """A machine of one's own, as a file."""
    folder = bench.data / "machines"
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / f"{machine}.yaml"
    file.write_text(text.format(id=machine), encoding="utf-8")
    return file


def as_text(page: Page) -> None:
    page.get_by_label("As text").check()
    expect(page.locator("#text")).to_be_visible()


def test_every_picture_of_the_room_is_drawn(page: Page) -> None:
    page.goto("/machines")
    for picture in page.locator(".portrait img").all():
        picture.scroll_into_view_if_needed()
        page.wait_for_timeout(50)
        assert picture.evaluate("img => img.decode().then(() => img.naturalWidth)") >= 150


def ink(page: Page) -> float:
    """How bright the middle of a portrait's base line is, 0 to 255."""
    found: float = page.evaluate(
        """async () => {
          const img = document.querySelector(".machine-head img");
          await img.decode();
          const canvas = Object.assign(document.createElement("canvas"), { width: 160, height: 160 });
          const pen = canvas.getContext("2d");
          pen.drawImage(img, 0, 0, 160, 160);
          const seen = pen.getImageData(0, 0, 160, 160).data;
          let sum = 0, count = 0;
          for (let at = 0; at < seen.length; at += 4) if (seen[at + 3] > 250) { sum += seen[at]; count += 1; }
          return sum / count;
        }"""
    )
    return found


def test_the_picture_follows_light_and_dark(open_page: OpenPage) -> None:
    light = open_page("tablet", path="/machines/hx-rotary")
    dark = open_page("tablet", dark=True, path="/machines/hx-rotary")
    assert light.locator(".machine-head img").screenshot() != dark.locator(".machine-head img").screenshot()
    assert ink(light) > 120


def test_a_machine_is_made_from_what_is_known(page: Page, bench: Bench) -> None:
    page.goto("/machines")
    page.get_by_role("link", name="New, like one there is").first.click()
    page.get_by_role("link", name=re.compile("Heat exchanger, vibration pump, tank, lever group one")).click()
    page.get_by_label("What is it called here?").fill("Beside the door")
    page.get_by_label("Short name").fill("by-the-door")
    page.get_by_label("Volume of the boiler").fill("2,1")
    page.get_by_label(re.compile(r"60\sHz")).check()
    page.get_by_role("button", name="Make it").click()
    page.wait_for_url("**/machines/by-the-door")
    expect(page.locator("h1")).to_have_text("Beside the door")
    text = (bench.data / "machines" / "by-the-door.yaml").read_text(encoding="utf-8")
    assert "boiler: {volume_l: 2.1}" in text
    assert "rated_Hz: 60" in text


def test_an_answer_that_cannot_be_is_told_beside_its_field(page: Page, faults: Faults) -> None:
    page.goto("/machines/new?like=hx-vibration")
    field = page.get_by_label("Volume of the boiler")
    field.fill("500")
    field.blur()
    row = page.locator('.question[data-key="boiler.volume_l"]')
    expect(row.locator(".fault")).to_contain_text("500")
    expect(field).to_have_attribute("aria-invalid", "true")
    field.fill("2")
    field.blur()
    expect(row.locator(".fault")).to_be_empty()
    page.get_by_label("Short name").fill("No Id")
    faults.allow(REFUSED)
    page.get_by_role("button", name="Make it").click()
    expect(page.locator("#machine-fault")).to_contain_text("small letters")
    expect(page.get_by_label("Short name")).to_be_focused()


def test_what_was_typed_stands_there_again_in_the_units_chosen_meanwhile(page: Page) -> None:
    """9.5 bar = 137.8 psi: 1 psi = 6 894.757 Pa (NIST SP 811, Appendix B.8)."""
    page.goto("/machines/new?like=hx-vibration")
    field = page.get_by_label("Pressure at which the relief valve opens")
    field.fill("9.5")
    page.reload()
    expect(field).to_have_value("9.5")
    page.locator(".choices summary").click()
    page.locator(".choices").get_by_label("psi").check()
    expect(field).to_have_value("137.8")
    page.goto("/machines")
    page.locator(".choices summary").click()
    page.locator(".choices").get_by_label("bar").check()
    page.goto("/machines/new?like=hx-vibration")
    assert float(field.input_value()) == pytest.approx(9.5, abs=0.005)


def test_a_value_changed_in_the_form_changes_the_file_and_keeps_its_comments(
    page: Page, bench: Bench
) -> None:
    file = lay(bench, "formed")
    page.goto("/machines/formed/edit")
    brew = page.locator("#set-f-relief_valve-set_bar")
    brew.fill("9.5")
    brew.press("Tab")
    expect(page.locator(".editor-state")).to_contain_text("Not saved yet")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".editor-state")).to_contain_text("Saved.")
    text = file.read_text(encoding="utf-8")
    assert "boiler: {volume_l: 2}  # weighed" in text
    assert "relief_valve: {set_bar: 9.5}" in text
    assert file.with_name("formed.yaml.1").read_text(encoding="utf-8") == TEXT.format(id="formed")


def test_values_entered_one_on_the_other_are_all_taken(page: Page, bench: Bench) -> None:
    lay(bench, "hasty")
    page.goto("/machines/hasty/edit")
    page.locator("#set-f-relief_valve-set_bar").fill("9.5")
    page.locator("#set-f-pressure_switch-opens_bar").fill("1.2")
    page.locator("#form-search").fill("boiler whole volume")
    page.locator("#f-boiler-volume_l").fill("2.2")
    page.locator("#f-boiler-volume_l").press("Tab")
    for said in ("set_bar: 9.5", "opens_bar: 1.2", "volume_l: 2.2"):
        expect(page.locator("#text")).to_have_value(re.compile(said))


def test_a_value_that_cannot_be_is_told_beside_it_and_not_taken(
    page: Page, bench: Bench, faults: Faults
) -> None:
    lay(bench, "wrong")
    page.goto("/machines/wrong/edit")
    faults.allow(REFUSED)
    field = page.locator("#set-f-relief_valve-set_bar")
    field.fill("99")
    field.press("Tab")
    expect(page.locator("#set-f-relief_valve-set_bar-fault")).to_contain_text("0.5 to 20")
    expect(page.locator("#text")).to_have_value(TEXT.format(id="wrong"))


def test_what_does_not_fit_together_is_told_with_its_line(page: Page, bench: Bench, faults: Faults) -> None:
    file = lay(bench, "tight")
    page.goto("/machines/tight/edit")
    field = page.locator("#set-f-pressure_switch-opens_bar")
    field.fill("1.75")
    field.press("Tab")
    expect(page.locator("#problems")).to_contain_text("too near the 1.8 bar at which safety_valve lifts")
    faults.allow(REFUSED)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".editor-state")).to_contain_text("Not saved")
    assert file.read_text(encoding="utf-8") == TEXT.format(id="tight")
    page.get_by_role("button", name=re.compile("Show line")).click()
    expect(page.locator("#text")).to_be_focused()
    expect(page.locator(".lines b")).to_have_count(1)


def test_the_text_is_checked_while_it_is_typed(page: Page, bench: Bench) -> None:
    lay(bench, "typed")
    page.goto("/machines/typed/edit")
    as_text(page)
    field = page.locator("#text")
    field.fill(TEXT.format(id="typed").replace("volume_l", "volum_l"))
    expect(page.locator("#problems")).to_contain_text("Line 5: ")
    expect(page.locator("#problems")).to_contain_text("did you mean 'volume_l'?")
    expect(page.locator(".lines b")).to_have_text("! 5")
    field.fill(TEXT.format(id="typed"))
    expect(page.locator("#problems")).to_be_hidden()
    assert page.locator(".lines").inner_text().split() == [str(n + 1) for n in range(6)]


def test_the_word_at_the_cursor_is_explained(page: Page, bench: Bench) -> None:
    lay(bench, "explained")
    page.goto("/machines/explained/edit")
    as_text(page)
    at = TEXT.format(id="explained").index("volume_l") + 2
    page.locator("#text").evaluate(f"field => {{ field.focus(); field.setSelectionRange({at}, {at}) }}")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#word-help")).to_contain_text("whole volume; 0.1 to 30 l")


def test_a_draft_survives_a_reload_and_can_be_given_up_and_had_back(page: Page, bench: Bench) -> None:
    lay(bench, "drafted")
    page.goto("/machines/drafted/edit")
    as_text(page)
    draft = TEXT.format(id="drafted") + "# a thought\n"
    page.locator("#text").fill(draft)
    page.reload()
    expect(page.locator("#text")).to_have_value(draft)
    expect(page.locator(".editor-state")).to_contain_text("Not saved yet")
    page.get_by_role("button", name="Back to the saved one").click()
    expect(page.locator("#text")).to_have_value(TEXT.format(id="drafted"))
    page.get_by_role("button", name="Undo that").click()
    expect(page.locator("#text")).to_have_value(draft)


def test_a_draft_of_an_older_file_does_not_overwrite_a_newer_one_unasked(
    page: Page, bench: Bench, faults: Faults
) -> None:
    file = lay(bench, "both")
    page.goto("/machines/both/edit")
    as_text(page)
    page.locator("#text").fill(TEXT.format(id="both") + "# mine\n")
    file.write_text(TEXT.format(id="both") + "# theirs\n", encoding="utf-8")
    page.reload()
    expect(page.locator("#text")).to_have_value(re.compile("# mine"))
    faults.allow(REFUSED)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".editor-state")).to_contain_text("Changed meanwhile")
    assert "# theirs" in file.read_text(encoding="utf-8")
    page.get_by_role("button", name="Save mine all the same").click()
    expect(page.locator(".editor-state")).to_contain_text("Saved.")
    assert "# mine" in file.read_text(encoding="utf-8")
    assert "# theirs" in file.with_name("both.yaml.1").read_text(encoding="utf-8")


def test_without_a_line_nothing_typed_is_lost(page: Page, bench: Bench, faults: Faults) -> None:
    file = lay(bench, "offline")
    page.goto("/machines/offline/edit")
    as_text(page)
    faults.allow_lost_line()
    page.context.set_offline(True)
    page.locator("#text").fill(TEXT.format(id="offline") + "# in the cellar\n")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".editor-state")).to_contain_text("not saved")
    page.context.set_offline(False)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".editor-state")).to_contain_text("Saved.")
    assert "# in the cellar" in file.read_text(encoding="utf-8")


def test_an_older_version_is_taken_back(page: Page, bench: Bench) -> None:
    file = lay(bench, "twice")
    page.goto("/machines/twice/edit")
    as_text(page)
    page.locator("#text").fill(TEXT.format(id="twice").replace("2}", "2.5}"))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".editor-state")).to_contain_text("Saved.")
    page.reload()
    page.get_by_text("Older versions (1)").click()
    page.get_by_role("button", name="Take this one into the editor").click()
    expect(page.locator("#text")).to_have_value(TEXT.format(id="twice"))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".editor-state")).to_contain_text("Saved.")
    assert file.read_text(encoding="utf-8") == TEXT.format(id="twice")


def test_a_machine_comes_from_a_file(page: Page, tmp_path: Path, bench: Bench) -> None:
    file = tmp_path / "brought.yaml"
    file.write_text(TEXT.format(id="brought").replace("volume_l", "volum_l"), encoding="utf-8")
    page.goto("/machines/import")
    page.locator("#file").set_input_files(str(file))
    expect(page.locator("#problems")).to_contain_text("did you mean 'volume_l'?")
    page.locator("#text").fill(TEXT.format(id="brought"))
    expect(page.locator("#problems")).to_be_hidden()
    page.get_by_role("button", name="Keep this machine").click()
    page.wait_for_url("**/machines/brought")
    assert (bench.data / "machines" / "brought.yaml").is_file()
    page.goto("/machines/import")
    expect(page.locator("#text")).to_have_value("")


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"# " + b"x" * 300_000, "larger than 256 kB"), (b"title: caf\xe9\n", "not a text in UTF-8")],
)
def test_a_file_that_is_none_is_not_taken(page: Page, content: bytes, said: str) -> None:
    page.goto("/machines/import")
    page.locator("#file").set_input_files({"name": "x.yaml", "mimeType": "text/yaml", "buffer": content})
    expect(page.locator("#problems")).to_contain_text(said)
    expect(page.locator("#text")).to_have_value("")


def test_a_machine_is_removed_and_brought_back(page: Page, bench: Bench) -> None:
    file = lay(bench, "leaving")
    page.goto("/machines/leaving")
    page.get_by_text("Remove this machine").click()
    page.get_by_role("button", name="Remove leaving").click()
    page.wait_for_url("**/machines/removed")
    assert not file.exists()
    page.get_by_role("button", name="Bring leaving back").first.click()
    page.wait_for_url("**/machines/leaving")
    assert file.read_text(encoding="utf-8") == TEXT.format(id="leaving")


def test_values_are_found_while_typing_and_shown_in_the_units_chosen(page: Page) -> None:
    """9.2 bar = 133.4 psi: 1 psi = 6 894.757 Pa (NIST SP 811, Appendix B.8)."""
    page.goto("/machines/hx-vibration")
    page.get_by_text("Every value it is reckoned with").click()
    page.get_by_label("Find a value").fill("relief valve begins to open")
    rows = page.locator("#values tbody tr:visible")
    expect(rows).to_have_count(1)
    expect(rows.first).to_contain_text(re.compile(r"9\.2\sbar"))
    page.locator(".choices summary").click()
    page.locator(".choices").get_by_label("psi").check()
    expect(rows.first).to_contain_text(re.compile(r"133\.4\spsi"))


def test_a_drawing_is_looked_into(page: Page) -> None:
    page.goto("/machines/hx-vibration/drawing/water")
    picture = page.locator("#drawing")
    before = picture.evaluate("img => img.decode().then(() => img.clientWidth)")
    page.get_by_role("button", name="Larger").click()
    assert picture.evaluate("img => img.clientWidth") > 1.3 * before
    page.get_by_role("button", name="Whole").click()
    fits = "img => img.clientHeight <= innerHeight && img.clientWidth <= img.parentElement.clientWidth"
    assert picture.evaluate(fits)


def test_a_drawing_in_a_state_says_that_the_twin_runs_it_until_it_is_there(page: Page) -> None:
    page.route("**/api/path/**", lambda route: (page.wait_for_timeout(800), route.continue_()))
    page.goto("/machines/flow-through/drawing/water")
    picture = page.locator("#drawing")
    said = page.locator(".drawing-state")
    page.get_by_label("In the state").select_option("brewing")
    expect(said).to_contain_text("The twin runs this state: about")
    expect(said.get_by_role("progressbar", name="The twin runs this state")).to_be_visible()
    expect(picture).to_have_attribute("src", "/drawings/flow-through/water.svg?state=brewing")
    expect(said).to_be_hidden()
    page.reload()
    expect(picture).to_have_attribute("src", "/drawings/flow-through/water.svg?state=brewing")
    page.get_by_label("In the state").select_option("")
    expect(picture).to_have_attribute("src", "/drawings/flow-through/water.svg")


@pytest.mark.parametrize("screen", ["tablet", "phone"])
@pytest.mark.parametrize(
    "path",
    ["/machines/hx-vibration", "/machines/compare?a=hx-vibration&b=hx-two-group", "/machines/looked-at/edit"],
)
def test_what_lies_behind_a_tap_fits_the_screen_and_is_accessible(
    open_page: OpenPage, bench: Bench, path: str, screen: str
) -> None:
    lay(bench, "looked-at", TEXT.replace("volume_l: 2}", "volume_l: 2, filled_share: 7}"))
    page = open_page(screen, dark=screen == "phone", path=path)
    page.wait_for_load_state("networkidle")
    page.evaluate("() => document.querySelectorAll('main details').forEach(one => one.open = true)")
    accessible(page)
    if path.endswith("/edit"):
        expect(page.locator("#problems")).to_contain_text("boiler.filled_share is 7")
        as_text(page)
        accessible(page)


def accessible(page: Page) -> None:
    """Nothing is wider than the screen, nothing that is pressed is small, axe finds nothing."""
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    small = page.evaluate(
        "() => [...document.querySelectorAll('main button, main .key, main select, main summary')]"
        ".filter(one => one.checkVisibility() && one.offsetHeight < 55).map(one => one.outerHTML)"
    )
    assert small == []
    assert [rule["id"] for rule in Axe().run(page).response["violations"]] == []
