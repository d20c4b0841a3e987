import json

import pytest

from collaudo.cli.main import main


def test_tuned_parameters_are_listed_with_value_and_origin(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measure", "tuned", "--json"]) == 0
    listed = {(entry["machine"], entry["field"]): entry for entry in json.loads(capsys.readouterr().out)}
    assert listed["", "vacuum_valve.bore_mm"]["value"] == 1.0
    assert listed["hx-two-group", "vacuum_valve.bore_mm"]["value"] == 1.5
    assert all(entry["origin"] and entry["moved_for"] for entry in listed.values())
    assert main(["measure", "tuned"]) == 0
    said = capsys.readouterr().out
    assert "\nexchanger.volume_ml = 140" in f"\n{said}"
    assert "hx-two-group: exchanger.volume_ml = 210" in said
