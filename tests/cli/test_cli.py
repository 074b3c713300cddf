"""The commands that other people's scripts rely on: their words, their JSON, their exit codes."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from house import TOP
from PIL import Image

from survey.parts.finding_verbs import list_finding_kinds
from web.main import main

Run = Callable[..., Result]
DOOR = "from web.main import main; main()"

PROMISED = (
    "kinds", "new", "intake", "photos", "schedule", "part", "find", "missing", "parts", "why", "override", "gaps",
    "report", "serve", "rules", "check", "demo",
)  # fmt: skip


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "no-settings"))

    def invoke(*words: object) -> Result:
        return CliRunner().invoke(main, [str(word) for word in words])

    return invoke


@pytest.fixture
def heap(run: Run) -> Path:
    assert run("new", "heap", "--kind", "lightweight", "--name", "Dairy find").exit_code == 0
    return Path("heap")


def answer(result: Result) -> Any:
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def picture(path: Path, colour: str = "brown", size: tuple[int, int] = (640, 480)) -> Path:
    Image.new("RGB", size, colour).save(path)
    return path


@pytest.mark.parametrize("name", PROMISED)
def test_every_promised_command_is_there_with_an_example(run: Run, name: str) -> None:
    result = run(name, "--help")
    assert result.exit_code == 0
    assert f"Example: teachest {name}" in result.output


def test_the_next_command_can_be_typed_as_it_stands(run: Run) -> None:
    made = run("new", "Dairy find", "--kind", "autocycle", "--name", "x")
    assert "kind autocycle" in made.output, "the kind is told, also where the settings chose it"
    part = run("part", "Dairy find", "--component", "A006").output
    for said in (made.output, part):
        (line,) = (line for line in said.splitlines() if line.startswith("Next: "))
        assert shlex.split(line.split(", or ")[0])[3] == "Dairy find", line


def test_kinds(run: Run) -> None:
    kinds = answer(run("kinds", "--json"))
    assert [set(kind) for kind in kinds] == [{"kind", "title", "components"}] * 3
    assert {kind["kind"] for kind in kinds} == {"autocycle", "lightweight", "girder-single"}
    assert all(140 <= kind["components"] <= 220 for kind in kinds)


def test_schedule(run: Run, heap: Path) -> None:
    rows = answer(run("schedule", heap, "--json"))
    assert set(rows[0]) == {"component", "label", "assembly", "inside", "quantity", "duty", "class", "material"}
    by_id = {row["component"]: row for row in rows}
    assert by_id["B052"]["label"] == "Handlebar" and by_id["B052"]["duty"] == "safety"
    assert all(row["inside"] is None or row["inside"] in by_id for row in rows)


def test_intake_counts_every_file_and_a_second_run_adds_nothing(run: Run, heap: Path, tmp_path: Path) -> None:
    export = tmp_path / "phone"
    export.mkdir()
    picture(export / "one.jpg")
    picture(export / "two.png", "grey")
    (export / "notes.txt").write_text("box three: rust")
    first = answer(run("intake", heap, export, "--json"))
    assert [set(one) for one in first["added"]] == [{"photo", "path", "sha256"}] * 2
    (refused,) = first["refused"]
    assert set(refused) == {"path", "reason", "message"}
    assert refused["reason"] == "not-a-picture" and refused["path"].endswith("notes.txt")
    second = answer(run("intake", heap, export, "--json"))
    assert second["added"] == [] and len(second["already"]) == 2


def test_photos(run: Run, heap: Path, tmp_path: Path) -> None:
    answer(run("intake", heap, picture(tmp_path / "one.jpg"), "--json"))
    (photo,) = answer(run("photos", heap, "--json"))
    assert {
        "photo", "sha256", "name", "format", "width", "height", "taken", "taken_from", "offset", "make", "model",
        "has_position", "parts",
    } <= set(photo)  # fmt: skip
    assert (photo["width"], photo["height"], photo["name"], photo["parts"]) == (640, 480, "one.jpg", [])
    assert photo["taken_from"] == "file" and photo["offset"] is None


def test_from_a_photo_to_a_graded_part_with_its_reasons(run: Run, heap: Path, tmp_path: Path) -> None:
    (added,) = answer(run("intake", heap, picture(tmp_path / "bar.jpg"), "--json"))["added"]
    part = answer(run("part", heap, "--component", "B052", "--photo", added["photo"], "--json"))["part"]
    found = answer(
        run("find", heap, part, "crack", 3, "--seen", "bare", "--photo", added["photo"], "--at", "0.5,0.25", "--json")
    )
    assert found["grade"] == "replace"
    (one,) = answer(run("parts", heap, "--json"))
    assert {
        "part",
        "component",
        "label",
        "class",
        "duty",
        "grade",
        "waiting",
        "override",
        "rulings",
        "findings",
        "photos",
    } <= set(one)
    assert one["findings"] == [
        {
            "kind": "crack",
            "step": 3,
            "seen": "bare",
            "photos": [added["photo"]],
            "finding": found["finding"],
            "note": "",
        }
    ]
    assert {"rule", "grade", "because", "remedy", "caution", "source", "sure", "disputed"} <= set(one["rulings"][0])
    assert one["grade"] == "replace" and one["waiting"] is None
    why = run("why", heap, part)
    assert one["rulings"][0]["because"] in why.output and one["rulings"][0]["rule"] in why.output
    assert answer(run("photos", heap, "--json"))[0]["parts"] == [part]


def test_a_part_nobody_looked_at_has_no_grade(run: Run, heap: Path) -> None:
    answer(run("part", heap, "--component", "B052", "--json"))
    (one,) = answer(run("parts", heap, "--json"))
    assert (one["grade"], one["waiting"]) == (None, "not-looked-at")
    assert one["rulings"]


def test_a_manner_of_looking_nobody_said_is_told_as_assumed(run: Run, heap: Path) -> None:
    stay = answer(run("part", heap, "--component", "B171", "--json"))["part"]
    barrel = answer(run("part", heap, "--component", "B110", "--json"))["part"]
    for act in (("sound",), ("find", "corrosion_surface", 1)):
        told = [
            run(act[0], heap, part, *act[1:], *seen).output.splitlines()[0]
            for part, seen in ((stay, ()), (barrel, ()), (stay, ("--seen", "bare")))
        ]
        assert "paint (assumed; say --seen bare" in told[0]
        assert told[1].endswith("bare (assumed).")
        assert told[2].endswith("bare.") and "assumed" not in told[2]


def test_an_own_component_is_no_lighter_than_its_class(run: Run, heap: Path) -> None:
    run("component", heap, "P01", "Brake rod of my own", "--class", "linkage")
    duties = {row["component"]: row["duty"] for row in answer(run("schedule", heap, "--json"))}
    assert duties["P01"] == "safety"
    refused = run("component", heap, "P02", "Fork", "--class", "fork", "--duty", "running")
    assert refused.exit_code == 1
    assert "class fork cannot be of duty running" in refused.stderr


def test_an_own_grade_stands_beside_the_ruling(run: Run, heap: Path) -> None:
    part = answer(run("part", heap, "--component", "B024", "--json"))["part"]
    answer(run("find", heap, part, "rubber", 4, "--json"))
    answer(run("override", heap, part, "reuse", "--reason", "kept to show what was fitted", "--json"))
    (one,) = answer(run("parts", heap, "--json"))
    assert one["grade"] == "replace"
    assert one["override"]["grade"] == "reuse" and one["override"]["reason"] == "kept to show what was fitted"
    assert run("override", heap, part, "reuse").exit_code == 1
    answer(run("override", heap, part, "--clear", "--json"))
    assert answer(run("parts", heap, "--json"))[0]["override"] is None


def test_gaps_inside_a_carburettor_that_is_here(run: Run, heap: Path) -> None:
    """Common practice, no source: the assembly does not hide what is gone from inside it."""
    schedule = answer(run("schedule", heap, "--json"))
    float_id = next(row["component"] for row in schedule if row["label"] == "Float")
    carburettor = next(row for row in schedule if row["component"] == "B144")
    answer(run("part", heap, "--component", carburettor["component"], "--json"))
    answer(run("missing", heap, float_id, "--json"))
    gaps = {gap["component"]: gap for gap in answer(run("gaps", heap, "--json"))}
    assert "B144" not in gaps
    gap = gaps[float_id]
    assert {"component", "label", "state", "inside", "quantity", "found"} <= set(gap)
    assert (gap["state"], gap["found"], gap["inside_present"]) == ("missing", 0, True)


@pytest.mark.parametrize("state", ["missing", "wrong", "unseen", "not-looked"])
def test_each_state_of_a_position_is_shown_as_a_gap(run: Run, heap: Path, state: str) -> None:
    answer(run("missing", heap, "B052", "--state", state, "--json"))
    gaps = {gap["component"]: gap["state"] for gap in answer(run("gaps", heap, "--json"))}
    assert gaps["B052"] == state


def test_what_is_not_fitted_is_no_gap(run: Run, heap: Path) -> None:
    answer(run("missing", heap, "B052", "--state", "not-fitted", "--json"))
    assert "B052" not in {gap["component"] for gap in answer(run("gaps", heap, "--json"))}
    answer(run("missing", heap, "B052", "--clear", "--json"))
    assert "B052" in {gap["component"] for gap in answer(run("gaps", heap, "--json"))}


def test_a_position_that_a_part_fills_cannot_be_missing(run: Run, heap: Path) -> None:
    answer(run("part", heap, "--component", "B052", "--json"))
    result = run("missing", heap, "B052")
    assert result.exit_code == 1 and "part 1" in result.stderr and "--state wrong" in result.stderr


REFUSALS = {
    "no survey": ("parts", "nowhere"),
    "no such kind": ("new", "other", "--kind", "rocket", "--name", "x"),
    "no name": ("new", "other", "--kind", "lightweight", "--name", " "),
    "in use": ("new", "heap", "--kind", "lightweight", "--name", "x"),
    "no such component": ("part", "heap", "--component", "Z999"),
    "no such photo": ("part", "heap", "--component", "B052", "--photo", "77"),
    "no such part": ("find", "heap", "9", "crack", "1"),
    "no such source": ("intake", "heap", "not-there"),
    "no such rule": ("rules", "no-such-rule"),
    "no such ending": ("report", "heap", "--to", "report.docx"),
    "no such state for it": ("missing", "heap", "Z1"),
}


@pytest.mark.parametrize("words", REFUSALS.values(), ids=REFUSALS)
def test_a_refusal_is_one_sentence_and_a_next_step_with_exit_1(run: Run, heap: Path, words: tuple[str, ...]) -> None:
    result = run(*words)
    assert result.exit_code == 1
    assert isinstance(result.exception, SystemExit)
    sentence, *rest = result.stderr.strip().splitlines()
    assert sentence.endswith(".") and "Traceback" not in result.stderr
    assert result.stdout == "" and len(rest) <= 1


@pytest.mark.parametrize(
    "words", [("find", "heap", "x", "crack", "1"), ("missing", "heap"), ("nonsense",),
              ("find", "heap", "1", "crack", "1", "--seen", "half"),
              ("find", "heap", "1", "crack", "1", "--at", "middle")],
)  # fmt: skip
def test_wrong_usage_is_exit_2(run: Run, heap: Path, words: tuple[str, ...]) -> None:
    assert run(*words).exit_code == 2


def test_bad_steps_kinds_and_marks_are_refused_and_lose_nothing(run: Run, heap: Path, tmp_path: Path) -> None:
    answer(run("intake", heap, picture(tmp_path / "one.jpg"), "--json"))
    part = answer(run("part", heap, "--component", "B052", "--photo", "1", "--json"))["part"]
    for words in (
        (part, "crack", 5), (part, "crack", 0), (part, "no-such-kind", 1), (part, "crack", 1, "--at", "0.5,0.5"),
        (part, "crack", 1, "--photo", 1, "--at", "1.5,0.5"), (part, "crack", 1, "--photo", 1, "--at", "nan,0.5"),
    ):  # fmt: skip
        result = run("find", heap, *words)
        assert result.exit_code == 1, (words, result.output)
    assert answer(run("parts", heap, "--json"))[0]["findings"] == []


def test_a_misspelt_finding_is_told_the_nearest(run: Run, heap: Path) -> None:
    part = answer(run("part", heap, "--component", "B052", "--json"))["part"]
    assert "crack" in run("find", heap, part, "crak", 1).stderr


def test_check_of_a_whole_and_of_a_damaged_survey(run: Run, heap: Path, tmp_path: Path) -> None:
    answer(run("intake", heap, picture(tmp_path / "one.jpg"), "--json"))
    assert answer(run("check", heap, "--json")) == []
    (original,) = [path for path in (heap / "originals").rglob("*") if path.is_file()]
    original.chmod(0o644)
    original.write_bytes(original.read_bytes()[:-1] + b"\x00")
    result = run("check", heap, "--json")
    (problem,) = json.loads(result.stdout)
    assert result.exit_code == 1 and problem["where"].endswith(original.name)


def test_the_history_keeps_every_change(run: Run, heap: Path) -> None:
    part = answer(run("part", heap, "--component", "B052", "--json"))["part"]
    answer(run("find", heap, part, "crack", 1, "--json"))
    answer(run("part", heap, "--part", part, "--remove", "--json"))
    verbs = [event["verb"] for event in answer(run("history", heap, "--last", 3, "--json"))]
    assert verbs == ["remove part", "add finding", "add part"]
    assert answer(run("parts", heap, "--json")) == []


def test_an_act_is_taken_back_and_done_again(run: Run, heap: Path) -> None:
    part = answer(run("part", heap, "--component", "B052", "--json"))["part"]
    answer(run("find", heap, part, "crack", 1, "--json"))
    (undone,) = answer(run("undo", heap, "--json"))
    assert undone["verb"] == "add finding"
    assert answer(run("parts", heap, "--json"))[0]["findings"] == []
    assert "Done again: Finding recorded: Crack, step 1, part 1 (Handlebar)." in run("redo", heap).output
    assert len(answer(run("undo", heap, "--times", 9, "--json"))) == 2
    refused = run("undo", heap)
    assert refused.exit_code == 1
    assert "nothing to take back" in refused.output


def test_the_machine_and_its_numbers_exactly_as_stamped(run: Run, heap: Path) -> None:
    shown = answer(run("machine", heap, "--year", "1957", "--number", "headstock=HP 1057 *=*", "--json"))
    assert shown["year"] == "1957"
    assert shown["numbers"] == [{"number": 1, "place": "headstock", "text": "HP 1057 *=*", "note": ""}]


def test_readings_are_taken_as_restorers_write_them(run: Run, heap: Path) -> None:
    rim = answer(run("part", heap, "--component", "B067", "--json"))["part"]
    kinds = answer(run("reading", heap, rim, "--json"))
    lateral = next(kind for kind in kinds if "lateral" in kind["reading"] and not kind["reading"].endswith("-book"))
    taken = answer(run("reading", heap, rim, lateral["reading"], "3/16 in", "--json"))
    assert taken["value"] == pytest.approx(4.7625) and taken["unit"] == "mm"
    assert taken["grade"] != "reuse"
    assert run("reading", heap, rim, lateral["reading"], "a lot").exit_code == 1
    assert run("reading", heap, rim, lateral["reading"], "26 tpi").exit_code == 1


def test_report_prints_its_paths(run: Run, heap: Path) -> None:
    result = run("report", heap, "--to", "out.csv", "--to", "out.json")
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines() == [str(Path("out.csv").resolve()), str(Path("out.json").resolve())]
    assert json.loads(Path("out.json").read_text("utf-8"))


def test_rules_can_be_read(run: Run) -> None:
    rows = answer(run("rules", "--json"))
    assert len(rows) > 100
    shown = run("rules", rows[0]["rule"])
    assert rows[0]["because"] in shown.output and rows[0]["source"] in shown.output
    assert len(answer(run("rules", "--findings", "--json"))) == len(list_finding_kinds())
    assert set(answer(run("rules", "--words", "--json"))) == {"class", "material", "duty", "seen", "outcome"}


def test_a_reader_that_has_read_enough_is_no_fault(run: Run, heap: Path) -> None:
    """The pipe is closed before the first line is written, and again after it."""
    for words in (("gaps", "heap"), ("gaps", "heap", "--json"), ("--help",)):
        with subprocess.Popen(
            [sys.executable, "-c", DOOR, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(TOP)},
        ) as child:  # fmt: skip
            assert child.stdout and child.stderr
            child.stdout.close()
            said = child.stderr.read()
        assert said == b"", words
        assert child.returncode == (1 if words == ("--help",) else 0)  # click itself leaves with 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
def test_a_full_disk_behind_the_output_is_told(run: Run, heap: Path) -> None:
    with open("/dev/full", "w") as full:
        child = subprocess.run(
            [sys.executable, "-c", DOOR, "kinds"], stdout=full, stderr=subprocess.PIPE, text=True, check=False,
            env={**os.environ, "PYTHONPATH": str(TOP)},
        )  # fmt: skip
    assert child.returncode == 1 and child.stderr.startswith("The system refused: ")


def test_what_somebody_wrote_without_end_is_not_all_said_back(run: Run, heap: Path) -> None:
    result = run("part", heap, "--component", "B" * 100_000)
    assert result.exit_code == 1 and len(result.stderr) < 2500
    assert result.stderr.startswith("There is no component 'BBB") and "in the schedule." in result.stderr


def test_gaps_lead_with_what_is_missing_and_count_what_nobody_looked_for(run: Run, heap: Path) -> None:
    for component, state in (("B161", "missing"), ("B055", "wrong"), ("B107", "unseen")):
        answer(run("missing", heap, component, "--state", state, "--json"))
    said = run("gaps", heap).output
    heads = ("missing, wrong or short", "Inside and not seen", "not looked for yet")
    assert [said.index(head) for head in heads] == sorted(said.index(head) for head in heads)
    first = said[: said.index(heads[1])]
    assert "B161 " in first and "B055 " in first and "B107 " not in first
    assert "B029 " not in said and "B029 " in run("gaps", heap, "--all").output
    assert "B055 " in run("gaps", heap, "--duty", "safety").output


def test_a_command_that_is_refused_has_changed_nothing(run: Run, heap: Path, tmp_path: Path) -> None:
    answer(run("intake", heap, picture(tmp_path / "one.jpg"), "--json"))
    part = answer(run("part", heap, "--component", "B052", "--json"))["part"]
    before = answer(run("history", heap, "--json"))
    for words in (
        ("place", heap, 1, 99, "--part", part, "--box", "three"),
        ("place", heap, 1, "--part", 99, "--aside"),
        ("part", heap, "--part", part, "--box", "three", "--photo", 1, "--photo", 99),
        ("machine", heap, "--year", "1957", "--number", "headstock without its sign"),
    ):
        assert run(*words).exit_code == 1, words
        assert answer(run("history", heap, "--json")) == before, words


@pytest.mark.slow
def test_a_demo_that_was_broken_off_is_built_anew(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*given: object, **named: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as stopped:
        stopped.setattr("survey.cli.demo.add_look", stop)
        assert run("demo", "ferryman", "--no-serve").exit_code == 1
    assert not Path("ferryman").exists()
    first = run("demo", "ferryman", "--no-serve")
    assert first.exit_code == 0, first.output
    assert os.listdir() == ["ferryman"] and answer(run("check", "ferryman", "--json")) == []
    assert "was built before" in run("demo", "ferryman", "--no-serve").output
    belongs = {one["name"]: one for one in answer(run("belongs", "ferryman", "--json"))}
    assert {one["answer"] for one in belongs.values()} >= {
        "belongs", "probably", "period-alternative", "another-machine"
    }, "the demo's story shows every answer"  # fmt: skip
    assert {bool(one["held"]) for one in answer(run("belongs", "ferryman", "--pass-on", "--json"))} == {True, False}
    tried = answer(run("fit", "ferryman", "--json"))
    assert {one["result"] for one in tried} == {"goes", "packing", "does-not"}
    assert {one["spacer"]["outcome"] for one in tried if one["spacer"]} == {"spacer", "too-wide"}


def test_the_demo_takes_nobodys_folder(run: Run, heap: Path) -> None:
    result = run("demo", heap, "--no-serve")
    assert result.exit_code == 1 and "is not the demo" in result.stderr
