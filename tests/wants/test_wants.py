"""Wants: what follows from gaps and grades, what the owner adds, and that none of it ever counts as had.

Facts of the trade here (a promise is no part; a part gone from a holder that is to be got comes with it; whoever walks
a jumble looks by kind of stall) are common practice, no source. Sizes: the inch is 25.4 mm exactly (international yard
and pound agreement of 1 July 1959).
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from survey.document.masking import make_masker, mask_number
from survey.errors import BadValue, BrokenKnowledge, NoSuchThing
from survey.history.verbs import list_acts, list_events, redo_act, undo_act
from survey.machine.verbs import add_number, change_machine
from survey.model.grading import Grade, Verdict
from survey.model.machine import Number
from survey.model.parts import Finding, GradedPart, OwnGrade, Part, Reading
from survey.model.price import Price
from survey.model.schedule import Component, Gap
from survey.model.wants import WANT_STATES, Want
from survey.parts.verbs import add_part, set_own_grade
from survey.photos.verbs import list_photos, take_in_photos
from survey.prices import format_money, format_price, parse_price, validate_currency
from survey.report.verbs import render_report, write_report
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.verbs import count_completeness, list_components, list_gaps, set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from survey.vocabulary import load_vocabulary
from survey.wants.data import load_stalls, parse_stalls
from survey.wants.sheet_verbs import write_wants_sheet
from survey.wants.verbs import drop_want, list_wants, set_currency, set_want
from survey.wants.want_lines import WantLine, describe_wants, make_want_lines, select_outstanding
from survey.words import format_size_both_ways
from web.main import main

STALLS = load_stalls()
SPOKES = Component("B068", "Front spokes", "Front wheel", None, 36, "safety", "spokes", "steel",
                   faults=("mixed gauges", "rust at the nipple"), sizes=("length", "gauge"))  # fmt: skip
LAMP = Component("B160", "Headlamp shell", "Electrical", None, 1, "running", "lamp", "steel")
BULB = Component("B162", "Headlamp bulb holder", "Electrical", "B160", 1, "running", "lamp", "steel")
SCHEDULE = (SPOKES, LAMP, BULB)


def graded(
    number: int, component: Component, grade: Grade | None, *, quantity: int = 1, own: Grade | None = None,
    wrong: int = 0, readings: tuple[Reading, ...] = (),
) -> GradedPart:  # fmt: skip
    return GradedPart(
        Part(number, component.id, "", quantity),
        component,
        Verdict(grade, None if grade else "not-looked-at"),
        own_grade=OwnGrade(number, own, "because") if own else None,
        findings=(Finding(1, number, "wrong_part", wrong, "bare"),) if wrong else (),
        readings=readings,
    )


def line_of(lines: tuple[WantLine, ...], component: Component) -> WantLine:
    return next(line for line in lines if line.component == component)


# --- what is wanted, and how many


@pytest.mark.parametrize(
    ("gap", "parts", "count"),
    [
        (Gap(SPOKES, "missing", 0), [], 36),
        (Gap(SPOKES, "short", 33), [graded(1, SPOKES, "reuse", quantity=33)], 3),
        (Gap(SPOKES, "short", 33), [graded(1, SPOKES, "replace", quantity=33)], 36),
        (Gap(SPOKES, "short", 9), [graded(1, SPOKES, "replace", quantity=6), graded(2, SPOKES, "reuse", quantity=3)],
         33),
        (Gap(SPOKES, "wrong", 36), [graded(1, SPOKES, "reuse", quantity=36)], 36),
        (Gap(SPOKES, "wrong", 0), [graded(1, SPOKES, "replace", quantity=36, wrong=3)], 36),
        (None, [graded(1, SPOKES, "replace", quantity=36)], 36),
        (None, [graded(1, SPOKES, "replace", quantity=36, own="reuse")], None),
        (None, [graded(1, SPOKES, "reuse", quantity=36, own="replace")], 36),
        (None, [graded(1, SPOKES, "replace", quantity=4), graded(2, SPOKES, "reuse", quantity=36)], None),
        (Gap(SPOKES, "not-looked", 0), [], None),
        (Gap(SPOKES, "unseen", 20), [graded(1, SPOKES, "replace", quantity=20)], 20),
        (Gap(SPOKES, "missing", 0, through="B160"), [], None),
    ],
)  # fmt: skip
def test_a_component_is_wanted_once_and_as_often_as_it_lacks(
    gap: Gap | None, parts: list[GradedPart], count: int | None
) -> None:
    lines = make_want_lines(SCHEDULE, [gap] if gap else [], parts, [], STALLS)
    assert [line.count for line in lines] == ([] if count is None else [count])


def test_what_goes_with_a_missing_holder_comes_with_it() -> None:
    gaps = [Gap(LAMP, "missing", 0), Gap(BULB, "missing", 0, through="B160")]
    (line,) = make_want_lines(SCHEDULE, gaps, [], [], STALLS)
    assert (line.component, line.brings) == (LAMP, ("Headlamp bulb holder",))


def test_sizes_taken_are_told_from_sizes_still_unknown() -> None:
    worn = Reading(1, 4, "worn-by", 0.5, "mm", "0.5")
    book = Reading(2, 4, "worn-by-book", 0.2, "mm", "0.2 mm")
    said = Want(1, "B068", sizes=(("Length", "8 3/4 in"),))
    line = make_want_lines(
        SCHEDULE, [], [graded(4, SPOKES, "replace", quantity=36, readings=(worn, book))], [said], STALLS
    )[0]
    assert [(size.name, size.written, size.worn) for size in line.sizes] == [
        ("Length", "8 3/4 in (222.25 mm)", False),
        ("worn by", "0.5 mm (1/64 in plus 0.103 mm)", True),
        ("worn by, maker's figure", "0.2 mm (1/64 in less 0.197 mm)", False),
    ]
    assert line.unknown == ("gauge",)
    assert line.tell_tales == ("mixed gauges",), "rust tells nothing of whether it is the right one"
    assert line.parts == (4,)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("1/4 in", "1/4 in (6.35 mm)"),
        ("1/4 in x 26 tpi", "1/4 in (6.35 mm) x 26 tpi (0.977 mm)"),
        ("6 mm", "6 mm (15/64 in plus 0.047 mm)"),
        ("10 swg", "10 swg"),
        ("as the other side", "as the other side"),
    ],
)
def test_sizes_are_said_in_inches_and_in_mm(written: str, said: str) -> None:
    assert format_size_both_ways(written) == said


def test_somebody_asked_for_what_is_no_longer_needed_is_not_forgotten() -> None:
    for state in WANT_STATES:
        lines = make_want_lines(SCHEDULE, [], [], [Want(1, "B068", state=state)], STALLS)
        assert bool(lines) == (state in ("asked", "promised", "bought"))
        assert not select_outstanding(lines)
        assert describe_wants(lines) == ""


def test_how_the_wants_stand_is_told_in_a_sentence() -> None:
    gaps = [Gap(SPOKES, "missing", 0), Gap(LAMP, "missing", 0)]
    said = [Want(1, "B068", state="promised"), Want(2, None, "nuts", state="here")]
    assert describe_wants(make_want_lines(SCHEDULE, gaps, [], said, STALLS)) == (
        "2 things to get: 1 wanted, 1 promised. Nothing of this counts as here."
    )


@given(
    found=st.integers(0, 40), bad=st.integers(0, 40), asked=st.sampled_from(WANT_STATES), more=st.integers(1, 5)
)  # fmt: skip
def test_a_sound_part_found_never_makes_more_wanted(found: int, bad: int, asked: str, more: int) -> None:
    def count(sound: int) -> int:
        parts = [graded(1, SPOKES, "reuse", quantity=sound)] if sound else []
        parts += [graded(2, SPOKES, "replace", quantity=bad)] if bad else []
        gap = [Gap(SPOKES, "short" if sound + bad else "missing", sound + bad)] if sound + bad < 36 else []
        said = [Want(1, "B068", state=asked)]  # type: ignore[arg-type]
        return sum(line.count for line in make_want_lines(SCHEDULE, gap, parts, said, STALLS))

    assert 36 >= count(found) >= count(found + more) >= 0
    assert count(found) == max(0, 36 - found) if bad >= 36 else count(found) <= max(0, 36 - found)


# --- money


@pytest.mark.parametrize(
    ("written", "price"),
    [("12", "12.00"), ("£12.50", "12.50"), ("1,200", "1200.00"), ("0.10", "0.10"), ("  7.5 ", "7.50"), ("", None)],
)
def test_a_price_is_read_to_the_penny(written: str, price: str | None) -> None:
    assert parse_price(written) == (None if price is None else Decimal(price))


@pytest.mark.parametrize("written", ["12,50", "-3", "a tenner", "1e3", "12.345", "٣", "1,2000", "99999999999"])
def test_what_is_no_price_is_refused(written: str) -> None:
    with pytest.raises(BadValue):
        parse_price(written)


def test_ten_times_ten_pence_is_a_pound() -> None:
    assert sum((parse_price("0.10") or Decimal() for _ in range(10)), Decimal()) == Decimal("1.00")


def test_prices_stand_in_their_order_and_are_said_in_the_currency() -> None:
    with pytest.raises(BadValue):
        Price(Decimal(5), Decimal(4))
    with pytest.raises(BadValue):
        Price(Decimal(5), None, Decimal(4))
    assert format_price(Price(Decimal(8), Decimal(12), Decimal(20)), "GBP") == "£8.00 to £20.00, likely £12.00"
    assert format_price(Price(high=Decimal(20)), "CHF") == "up to CHF 20.00"
    assert format_price(Price(), "GBP") == ""
    assert format_price(Price(Decimal(5), Decimal(5), Decimal(5)), "GBP") == "£5.00"
    assert format_money(Decimal("1234.5"), "EUR") == "€1,234.50"
    assert validate_currency(" eur ") == "EUR"
    with pytest.raises(BadValue):
        validate_currency("pounds")


# --- kinds of stall


def test_every_class_is_at_one_stall() -> None:
    words = load_vocabulary().class_
    assert sorted(word for stall in STALLS.stalls for word in stall.classes) == sorted(words)
    assert STALLS.of("exhaust").label == "Exhausts"
    assert STALLS.of("no such class").id == "other"
    assert STALLS.source == "common practice, no source"


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ('[[stall]]\nid = "a"\nlabel = "A"\nclasses = ["fram"]\n', "'fram' is no class"),
        ('[[stall]]\nid = "a"\nlabel = "A"\nclasses = ["frame", "frame"]\n', "is at a already"),
        ('[[stall]]\nid = "a"\nlabel = "A"\nclasses = ["frame"]\n', "no stall has"),
        ('[[stall]]\nid = "a"\nclasses = []\n', "it has the cells id, classes"),
    ],
)
def test_a_faulty_table_of_stalls_is_named(text: str, names: str) -> None:
    with pytest.raises(BrokenKnowledge, match=names):
        parse_stalls(text, load_vocabulary())


# --- numbers that others need not know


@pytest.mark.parametrize(
    ("number", "said"), [("HP57 1182 *", "HP57 1••• *"), ("147/2 0831", "147/2 0•••"), ("82", "••"), ("A-12", "•-••")]
)
def test_the_last_three_characters_of_a_number_are_hidden(number: str, said: str) -> None:
    assert mask_number(number) == said


def test_a_number_is_hidden_wherever_and_however_it_is_written() -> None:
    hide = make_masker([Number(1, "frame", "HP57 1182 *"), Number(2, "lug", "82")])
    assert hide("off frame hp571182, see 1182; hp-57/1182 too") == "off frame hp571•••, see 1•••; hp-57/1••• too"
    assert hide("length 82 mm, 11820 off") == "length 82 mm, 11820 off"


# --- the survey


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    with make_survey(tmp_path / "heap", "lightweight", "Ferryman", by="Wren") as made:
        photo = tmp_path / "1.jpg"
        Image.new("RGB", (640, 480), "brown").save(photo)
        take_in_photos(made, [photo])
        add_number(made, "headstock", "HPF 57104 *")
        change_machine(made, maker="Haldane-Pike", bought="from 14 Ferry Lane", note="engine HPF57104")
        sprocket = add_part(made, "B094", photos=[1])
        set_own_grade(made, sprocket.id, "replace", "hooked teeth")
        set_position(made, "B140", "missing")
        yield made


def tap(survey: Survey) -> WantLine:
    return next(line for line in list_wants(survey) if line.component and line.component.id == "B140")


def test_what_is_said_of_a_want_is_kept_and_can_be_taken_back(survey: Survey) -> None:
    said = set_want(
        survey, "B140", state="asked", who="Jonty", sizes={"thread": "1/4 in x 19 tpi", "reach": "20 mm"}, high="15",
        also="any quarter tap",
    )  # fmt: skip
    assert (said.state, said.who, said.price, said.also) == (
        "asked",
        "Jonty",
        Price(high=Decimal("15.00")),
        "any quarter tap",
    )
    assert tap(survey).unknown == ()
    set_want(survey, "B140", sizes={"reach": ""}, low="3", who="")
    line = tap(survey)
    assert line.said is not None
    assert dict(line.said.sizes) == {"thread": "1/4 in x 19 tpi"}
    assert (line.said.since, line.said.who, line.price.low) == (said.since, "", Decimal("3.00"))
    assert list_acts(survey)[0].words == "Want noted: B140 Petrol tap (asked)"
    undo_act(survey)
    assert tap(survey).said == said
    undo_act(survey)
    assert tap(survey).said is None
    redo_act(survey)
    assert tap(survey).said == said
    drop_want(survey, "B140")
    assert (tap(survey).said, tap(survey).count) == (None, 1)
    assert set_want(survey, "B140").state == "wanted"
    assert check_survey(survey) == []


@pytest.mark.parametrize("state", WANT_STATES)
def test_no_state_of_a_want_ever_counts_as_had(survey: Survey, state: str) -> None:
    before = list_gaps(survey), count_completeness(survey)
    set_want(survey, "B140", state=state)
    assert (list_gaps(survey), count_completeness(survey)) == before
    assert tap(survey).count == 1
    add_part(survey, "B140")
    assert (list_gaps(survey), count_completeness(survey)) != before
    assert not select_outstanding(tuple(line for line in list_wants(survey) if line.label == "Petrol tap"))


def test_a_thing_of_ones_own_is_wanted_by_its_label(survey: Survey) -> None:
    set_want(survey, label="Cycle nuts, a tinful")
    set_want(survey, label="cycle nuts, A TINFUL", state="bought", quantity=40)
    (line,) = [line for line in list_wants(survey) if line.component is None]
    assert (line.label, line.count, line.state, line.stall.label) == ("Cycle nuts, a tinful", 40, "bought", "Anywhere")
    drop_want(survey, label="cycle nuts, a tinful")
    assert all(line.component for line in list_wants(survey))


def test_what_cannot_be_said_of_a_want_is_refused(survey: Survey) -> None:
    events = len(list_events(survey))
    with pytest.raises(NoSuchThing):
        set_want(survey, "B999", state="asked")
    for fields in ({"state": "lost"}, {"quantity": 0}, {"low": "9", "high": "3"}, {"colour": "red"}, {"low": "some"}):
        with pytest.raises(BadValue):
            set_want(survey, "B140", **fields)
    with pytest.raises(BadValue):
        set_want(survey, state="asked")
    with pytest.raises(BadValue):
        set_want(survey, "B140", sizes={f"size {number}": "1 mm" for number in range(41)})
    with pytest.raises(NoSuchThing):
        drop_want(survey, "B140")
    with pytest.raises(BadValue):
        set_currency(survey, "££")
    assert len(list_events(survey)) == events


# --- on paper


def words_of(path: Path) -> str:
    from pypdf import PdfReader

    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


@pytest.fixture
def told(survey: Survey) -> Survey:
    set_want(
        survey, "B140", state="asked", who="Jonty Marl", sizes={"thread": "1/4 in x 19 tpi"}, high="15.50",
        also="one off HPF 57104", note="lives at 3 Quay Street",
    )  # fmt: skip
    set_want(survey, label="=HYPERLINK nuts", state="here")
    return survey


def test_the_pocket_sheet_folds_and_tells_sizes_both_ways(told: Survey, tmp_path: Path) -> None:
    """Four quarters of A4 (ISO 216: 210 by 297 mm) a side, so A6."""
    from pypdf import PdfReader

    path = write_wants_sheet(told, tmp_path / "p.pdf")
    pages = PdfReader(path).pages
    assert [round(float(side) * 25.4 / 72) for side in pages[0].mediabox[2:]] == [210, 297]
    text = words_of(path)
    for piece in ("thread: 1/4 in (6.35 mm) x 19 tpi (1.337 mm)", "At most £15.50", "Still to be measured: teeth",
                  "Asked, Jonty Marl", "Wanted for Ferryman", "Carburettors and petrol"):  # fmt: skip
        assert piece in text, piece
    assert "nuts" not in text, "what is here already is not looked for"


def test_the_pocket_sheet_holds_as_many_wants_as_there_are(told: Survey, tmp_path: Path) -> None:
    from pypdf import PdfReader

    for component in list_components(told)[:60]:
        set_want(told, component.id, state="asked", quantity=1, also="x" * 3000, sizes={"y" * 200: "z" * 200})
    path = write_wants_sheet(told, tmp_path / "p.pdf", paper="letter")
    text = words_of(path)
    assert len(PdfReader(path).pages) > 2
    labels = {component.label for component in list_components(told)[:60]}
    assert [label for label in labels if label not in text] == []


def test_a_friend_learns_no_price_no_name_and_no_number(told: Survey, tmp_path: Path) -> None:
    pdf = write_wants_sheet(told, tmp_path / "f.pdf", "friend")
    table = write_wants_sheet(told, tmp_path / "f.csv", "friend")
    texts = [words_of(pdf), table.read_text("utf-8")]
    for text in texts:
        for private in ("15.5", "Jonty", "Quay Street", "Ferry Lane", "57104", "HPF57104", "hooked"):
            assert private not in text, private
        assert "one off HPF 57•••" in text or "one off HPF 57\N{BULLET}" in text
        assert "1/4 in (6.35 mm) x 19 tpi (1.337 mm)" in text
        assert "nuts" not in text
    assert "HPF 57•••" in texts[0]


def test_what_is_gathered_for_a_friend_holds_nothing_private_even_where_nobody_prints_it(told: Survey) -> None:
    from survey.wants.sheet_verbs import gather_wants_data

    mine, theirs = (gather_wants_data(told, for_friend=for_friend).entries for for_friend in (False, True))
    asked = next(entry for entry in mine if entry.component == "B140")
    assert (asked.high, asked.who, bool(asked.since), bool(asked.note)) == ("15.50", "Jonty Marl", True, True)
    assert theirs
    for entry in theirs:
        assert not any((entry.price, entry.low, entry.likely, entry.high, entry.most, entry.who, entry.since))
        assert not any((entry.note, entry.why))


def test_the_friends_copy_shows_the_old_part_without_what_a_camera_writes(told: Survey, tmp_path: Path) -> None:
    from pypdf import PdfReader

    pages = PdfReader(write_wants_sheet(told, tmp_path / "f.pdf", "friend")).pages
    pictures = [image for page in pages for image in page.images]
    assert len(pictures) == 1
    assert b"Exif" not in pictures[0].data
    add_part(told, "B178", label="plate", photos=[photo.id for photo in list_photos(told)])
    pages = PdfReader(write_wants_sheet(told, tmp_path / "g.pdf", "friend")).pages
    assert [image for page in pages for image in page.images] == [], "the number plate lies beside it in every photo"


def test_the_table_is_rfc_4180_and_no_cell_is_a_formula(told: Survey, tmp_path: Path) -> None:
    """RFC 4180, 2.1 and 2.4."""
    written = write_wants_sheet(told, tmp_path / "w.csv").read_bytes().decode("utf-8")
    assert written.endswith("\r\n")
    found = list(csv.DictReader(io.StringIO(written, newline=""), strict=True))
    assert {None} & {key for row in found for key in row} == set()
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in found for cell in row.values())
    by_label = {row["label"]: row for row in found}
    assert (by_label["Petrol tap"]["high"], by_label["Petrol tap"]["currency"]) == ("15.50", "GBP")
    assert by_label["'=HYPERLINK nuts"]["state"] == "Here"


def test_wants_are_not_written_in_any_other_way(told: Survey, tmp_path: Path) -> None:
    for name, copy, paper in (("w.txt", "", "a4"), ("w.pdf", "valuer", "a4"), ("w.pdf", "", "a3")):
        with pytest.raises(BadValue):
            write_wants_sheet(told, tmp_path / name, copy, paper)
    assert list(tmp_path.glob("w.*")) == []


def test_the_report_says_how_the_wants_stand(told: Survey, tmp_path: Path) -> None:
    told_in = json.loads(write_report(told, tmp_path / "r.json").read_text("utf-8"))
    assert told_in["wants"] == "2 things to get: 1 wanted, 1 asked. Nothing of this counts as here."
    assert told_in["wants"] in write_report(told, tmp_path / "r.csv").read_text("utf-8")
    assert told_in["wants"] in render_report(told, lambda *_: "")


# --- the command


def test_the_commands_list_change_and_print(told: Survey, tmp_path: Path) -> None:
    folder = str(told.folder)

    def run(*words: str) -> str:
        result = CliRunner().invoke(main, list(words), catch_exceptions=False)
        assert result.exit_code == 0, result.output
        return result.output

    assert "Petrol tap" in run("wants", folder)
    listed = {line["label"]: line for line in json.loads(run("wants", folder, "--json", "--currency", "eur"))}
    assert listed["Petrol tap"]["price"] == {"low": None, "likely": None, "high": "15.50"}
    assert listed["Petrol tap"]["currency"] == "EUR"
    said = json.loads(
        run("want", folder, "B094", "--state", "bought", "--who", "Marl", "--size", "teeth=43 teeth", "--json")
    )
    assert (said["state"], said["who"], said["count"]) == ("bought", "Marl", 1)
    assert "teeth" not in said["to_measure"]
    asked = run("want", folder, "B056", "--state", "asked", "--who", "Marl")
    assert "0 pieces" not in asked
    assert "lacks none that anybody has looked for" in asked
    assert "1 piece of Clutch lever" in run("want", folder, "B056", "--quantity", "1")
    run("want", folder, "B056", "--drop")
    assert "nothing is wanted" in run("want", folder, "--label", "=hyperlink nuts", "--drop")
    written = run("wants", folder, "--to", str(tmp_path / "f.pdf"), "--copy", "friend")
    assert "Look over its pictures" in written
    assert json.loads(run("wants", folder, "--to", str(tmp_path / "w.csv"), "--json")) == [
        {"path": str((tmp_path / "w.csv").resolve())}
    ]
    refused = CliRunner().invoke(main, ["want", folder, "B094", "--size", "teeth 43"])
    assert refused.exit_code == 2
