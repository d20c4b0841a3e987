"""The machines room over HTTP: pages, pictures, the file while it is written."""

from __future__ import annotations

import json
import re
from typing import Any
from xml.etree import ElementTree

import pytest

from collaudo.machine.library import library_ids
from collaudo.machine.load import find_machine
from tests.app.web.asking import Asker

LEFT = "machine: {id}\ntitle: Left one\nlike: hx-vibration\nparts:\n  boiler: {{volume_l: 2}}  # weighed\n"


def make(asker: Asker, machine: str) -> dict[str, Any]:
    answer = asker.change("POST", "/api/machines/import", {"text": LEFT.format(id=machine)})
    assert answer.status == 200, answer.text
    made: dict[str, Any] = answer.json()
    return made


def test_every_machine_has_its_picture_in_the_room(asker: Asker) -> None:
    page = asker.ask("GET", "/machines")
    assert page.status == 200
    for machine in library_ids():
        assert f'src="/portraits/{machine}.svg"' in page.text
        picture = asker.ask("GET", f"/portraits/{machine}.svg")
        assert picture.headers["content-type"].startswith("image/svg+xml")
        ElementTree.fromstring(picture.text)


def test_a_picture_is_sent_again_only_when_it_changed(asker: Asker) -> None:
    first = asker.ask("GET", "/portraits/hx-rotary.svg")
    again = asker.ask("GET", "/portraits/hx-rotary.svg", {"If-None-Match": first.headers["etag"]})
    assert (again.status, again.body) == (304, b"")
    other = asker.ask("GET", "/portraits/dual-rotary.svg", {"If-None-Match": first.headers["etag"]})
    assert other.status == 200


@pytest.mark.parametrize("of", ["water", "heat", "current"])
def test_a_machine_is_drawn(asker: Asker, of: str) -> None:
    drawing = asker.ask("GET", f"/drawings/single-boiler/{of}.svg")
    assert drawing.status == 200
    assert ElementTree.fromstring(drawing.text).tag.endswith("svg")


@pytest.mark.parametrize(
    "path",
    [
        "/portraits/nothing.svg",
        "/portraits/..%2f..%2fsecret.svg",
        "/portraits/%2e%2e.svg",
        "/drawings/hx-rotary/smell.svg",
        "/drawings/hx-rotary/water.svg?state=nothing",
        "/machines/nothing",
        "/machines/..%2fsecret",
        "/machines/nothing/edit",
        "/machines/hx-rotary/drawing/smell",
        "/machines/compare?a=nothing&b=hx-rotary",
        "/machines/new?like=../secret",
        "/api/machines/..%2f..%2fetc%2fpasswd",
        "/api/machines/..%2fsecret/file?form=written",
        "/api/machines/hx-rotary/text",
        "/api/machines/questions?like=/etc/passwd",
    ],
)
def test_what_there_is_not_is_not_found(asker: Asker, path: str) -> None:
    assert asker.ask("GET", path).status in (404, 422)


@pytest.mark.parametrize("machine", library_ids())
def test_the_page_of_a_machine_tells_all_its_parts_values_and_states(asker: Asker, machine: str) -> None:
    page = asker.ask("GET", f"/machines/{machine}").text
    built = find_machine(machine)
    assert page.count("<h1>") == 1
    for part in built.parts.values():
        for said in (part.text, part.fails):
            assert said.replace("'", "&#39;") in page
    for name in built.settings:
        assert name.replace("_", " ").capitalize() in page
    assert f'href="/path/{machine}/idle/water"' in page
    for room in (f"/running/{machine}", f"/expected/{machine}", f"/setting/{machine}"):
        assert f'href="{room}"' in page


def test_values_are_shown_as_exactly_as_they_are_given(asker: Asker) -> None:
    """hx-two-group declares a brew jet of 0.65 mm: rounded to a tenth it would be another jet."""
    page = asker.ask("GET", "/machines/hx-two-group").text
    assert re.search(r'value="0.65" data-unit="mm">0\.65\s*mm<', page)


def test_values_are_shown_in_the_units_chosen(asker: Asker) -> None:
    """9.2 bar = 133.4 psi: 1 psi = 6 894.757 Pa (NIST SP 811, Appendix B.8)."""
    page = asker.ask("GET", "/machines/hx-vibration", {"Cookie": "units=psi.degF.ml"}).text
    assert re.search(r'value="9.2" data-unit="bar">133\.4\s*psi<', page)


def test_two_machines_side_by_side_tell_what_differs(asker: Asker) -> None:
    page = asker.ask("GET", "/machines/compare?a=hx-vibration&b=hx-rotary").text
    differs, same = page.split("What is the same")
    assert "Pump motor" in differs
    assert 'value="11.3" data-unit="bar"' in differs
    assert "tank.out to inlet_selector.tank, bore 8 mm, length 300 mm" in differs
    assert "diode.b to pump.live" in differs
    assert "volume_l" not in differs
    assert "whole volume" in same


def test_what_differs_can_be_asked_by_other_programs(asker: Asker) -> None:
    told = asker.ask("GET", "/api/machines/compare?a=hx-vibration&b=hx-rotary").json()
    assert {part["name"] for part in told["second"]["parts"]} >= {"pump_motor", "inlet_selector"}
    relief = next(two for two in told["values"] if two["first"]["key"] == "relief_valve.set_bar")
    assert (relief["first"]["value"], relief["second"]["value"], relief["first"]["unit"]) == (
        9.2,
        11.3,
        "bar",
    )


def test_a_machine_beside_itself_does_not_differ(asker: Asker) -> None:
    page = asker.ask("GET", "/machines/compare?a=hx-rotary&b=hx-rotary").text
    assert "They do not differ in anything." in page


def test_a_machine_made_from_answers_is_there_in_every_room(asker: Asker) -> None:
    asked = {
        "like": "hx-vibration",
        "machine": "counter-left",
        "title": "Left at the counter",
        "answers": [{"key": "relief_valve.set_bar", "text": "135 psi"}],
    }
    assert asker.change("POST", "/api/machines/new/check", asked).json() == []
    assert asker.ask("GET", "/machines/counter-left").status == 404
    assert asker.change("POST", "/api/machines/new", asked).status == 200
    page = asker.ask("GET", "/machines/counter-left")
    assert "Left at the counter" in page.text
    assert asker.ask("GET", "/portraits/counter-left.svg").status == 200
    assert asker.ask("GET", "/drawings/counter-left/water.svg").status == 200
    entry = next(one for one in asker.ask("GET", "/api/machines").json() if one["id"] == "counter-left")
    assert entry["own"]
    assert entry["problems"] == []


def test_answers_that_cannot_be_are_told_with_their_question(asker: Asker) -> None:
    asked = {
        "like": "hx-vibration",
        "machine": "counter-right",
        "title": "",
        "answers": [{"key": "boiler.volume_l", "text": "500 l"}, {"key": "tank.volume_l", "text": "2 bar"}],
    }
    answer = asker.change("POST", "/api/machines/new", asked)
    assert answer.status == 422
    assert asker.change("POST", "/api/machines/new/check", asked).json() == answer.json()["problems"]
    told = [one["message"] for one in answer.json()["problems"]]
    assert told[0].startswith("boiler.volume_l is 500")
    assert told[1].startswith("tank.volume_l: ")


def test_a_text_is_checked_with_every_problem_and_its_line(asker: Asker) -> None:
    text = LEFT.format(id="a").replace("volume_l", "volum_l") + "  pump: {shutoff_bar: 99}\n"
    checked = asker.change("POST", "/api/machines/check", {"text": text}).json()
    assert [one["line"] for one in checked["problems"]] == [5, 6]
    assert "did you mean 'volume_l'?" in checked["problems"][0]["remedy"]
    sound = asker.change("POST", "/api/machines/check", {"text": LEFT.format(id="a")}).json()
    assert sound["problems"] == []
    assert sound["svg"].startswith("<svg")


def test_a_value_changed_in_the_form_keeps_the_comments(asker: Asker) -> None:
    changes = {"boiler.volume_l": "2.2 l", "relief_valve.set_bar": "9.4 bar"}
    draft = {"text": LEFT.format(id="a"), "changes": changes}
    changed = asker.change("POST", "/api/machines/change", draft).json()
    assert "boiler: {volume_l: 2.2}  # weighed" in changed["text"]
    fields = {field["key"]: field for part in changed["form"]["parts"] for field in part["fields"]}
    assert fields["relief_valve.set_bar"]["value"] == 9.4
    assert changed["checked"]["problems"] == []


def test_saving_needs_the_file_that_was_opened(asker: Asker) -> None:
    made = make(asker, "saved-here")
    text = made["text"].replace("volume_l: 2", "volume_l: 2.5")
    first = asker.change("PUT", "/api/machines/saved-here/text", {"text": text, "mark": made["mark"]})
    assert first.status == 200
    late = asker.change("PUT", "/api/machines/saved-here/text", {"text": text + "#\n", "mark": made["mark"]})
    assert late.status == 409
    assert "changed meanwhile" in late.json()["problems"][0]["message"]
    older = asker.ask("GET", "/api/machines/saved-here/versions/1").json()
    assert older["text"] == made["text"]


def test_a_file_that_would_not_work_is_not_saved(asker: Asker) -> None:
    made = make(asker, "kept-good")
    bad = made["text"].replace("volume_l", "volum_l")
    answer = asker.change("PUT", "/api/machines/kept-good/text", {"text": bad, "mark": made["mark"]})
    assert answer.status == 422
    assert answer.json()["problems"][0]["line"] == 5
    assert asker.ask("GET", "/api/machines/kept-good/text").json()["text"] == made["text"]


def test_a_machine_goes_out_and_comes_in_again(asker: Asker) -> None:
    make(asker, "out-and-in")
    written = asker.ask("GET", "/api/machines/out-and-in/file?form=written")
    whole = asker.ask("GET", "/api/machines/out-and-in/file")
    assert written.headers["content-disposition"] == 'attachment; filename="out-and-in.yaml"'
    assert "# weighed" in written.text
    assert "like:" not in whole.text
    again = asker.change("POST", "/api/machines/import", {"text": whole.text})
    assert again.status == 422
    assert "already" in again.json()["problems"][0]["message"]
    other = whole.text.replace("machine: out-and-in", "machine: in-again")
    assert asker.change("POST", "/api/machines/import", {"text": other}).status == 200
    compared = asker.ask("GET", "/machines/compare?a=out-and-in&b=in-again").text
    assert "They do not differ in anything." in compared


def test_a_removed_machine_comes_back(asker: Asker) -> None:
    make(asker, "gone-and-back")
    gone = asker.change("DELETE", "/api/machines/gone-and-back", None)
    assert gone.status == 200
    assert asker.ask("GET", "/machines/gone-and-back").status == 404
    assert "gone-and-back" in asker.ask("GET", "/machines/removed").text
    back = asker.change("POST", f"/api/machines/removed/{gone.json()['key']}/back", None)
    assert back.json() == {"machine": "gone-and-back"}
    assert asker.ask("GET", "/machines/gone-and-back").status == 200


def test_nothing_changes_without_the_form_token(asker: Asker) -> None:
    make(asker, "guarded")
    for method, path in (("DELETE", "/api/machines/guarded"), ("POST", "/api/machines/import")):
        answer = asker.change(method, path, {"text": LEFT.format(id="smuggled")}, {"X-Form-Token": "wrong"})
        assert answer.status == 403
    assert asker.ask("GET", "/machines/guarded").status == 200
    assert asker.ask("GET", "/machines/smuggled").status == 404


def test_the_library_cannot_be_changed(asker: Asker) -> None:
    before = asker.ask("GET", "/api/machines/hx-rotary/file").text
    for method, path, told in (
        ("PUT", "/api/machines/hx-rotary/text", {"text": before, "mark": ""}),
        ("DELETE", "/api/machines/hx-rotary", None),
        ("POST", "/api/machines/import", {"text": before}),
    ):
        assert asker.change(method, path, told).status in (404, 422)
    edit = asker.ask("GET", "/machines/hx-rotary/edit")
    assert (edit.status, edit.headers["location"]) == (303, "/machines/new?like=hx-rotary")


def test_a_file_too_large_is_refused_with_what_is_wrong(asker: Asker) -> None:
    text = LEFT.format(id="large") + "# " + "x" * 300_000
    answer = asker.change("POST", "/api/machines/import", {"text": text})
    assert answer.status == 422
    assert "larger than 256 kB" in answer.json()["problems"][0]["message"]
    assert asker.change("POST", "/api/machines/check", {"text": "x" * 2_500_000}).status == 413


def test_a_file_that_no_longer_works_is_shown_with_its_faults_and_can_be_put_right(asker: Asker) -> None:
    make(asker, "worn")
    folder = asker.bench.data / "machines"
    (folder / "worn.yaml").write_text(
        "machine: worn\ntitle: Worn\nlike: hx-vibration\nparts: {pum: none}\n", encoding="utf-8"
    )
    assert "cannot be used" in asker.ask("GET", "/machines/worn").text
    room = asker.ask("GET", "/machines")
    assert room.status == 200
    assert "Cannot be used" in room.text
    assert asker.ask("GET", "/machines/worn/edit").status == 200
    listed = {one["id"]: one["problems"] for one in asker.ask("GET", "/api/machines").json()}
    assert listed["worn"][0]["line"] == 4
    (folder / "worn.yaml").unlink()


@pytest.mark.parametrize("room", ["running", "path", "expected", "setting"])
def test_in_every_room_a_file_that_no_longer_works_leads_to_where_it_is_put_right(
    asker: Asker, room: str
) -> None:
    made = make(asker, f"broken-in-{room}")["machine"]
    file = asker.bench.data / "machines" / f"{made}.yaml"
    file.write_text(LEFT.format(id=made).replace("volume_l: 2", "volume_l: 2, filled_share: 7"))
    page = asker.ask("GET", f"/{room}/{made}")
    assert page.status == 422
    assert "boiler.filled_share is 7" in page.text
    assert f'href="/machines/{made}/edit"' in page.text
    file.unlink()


def test_a_title_is_text_wherever_it_is_shown(asker: Asker) -> None:
    sly = "<img src=x onerror=alert(1)>"
    text = LEFT.format(id="sly").replace("Left one", json.dumps(sly))
    assert asker.change("POST", "/api/machines/import", {"text": text}).status == 200
    for path in (
        "/machines",
        "/machines/sly",
        "/machines/sly/edit",
        "/machines/compare?a=sly&b=sly",
        "/portraits/sly.svg",
    ):
        assert "<img src=x" not in asker.ask("GET", path).text
