"""Money, worth and the gates through both doors: what is said is kept, can be taken back, and is refused in words.

That a payment makes a want bought, and that what is bought costs even when it is wanted no more, is common practice, no
source.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner
from web_client import CheckedClient, Page

from survey.belonging.verbs import keep_as_pattern
from survey.errors import BadValue, NoSuchThing
from survey.history.bin_verbs import BIN_WORDS, list_bin, put_back
from survey.history.verbs import list_acts, list_events, redo_act, undo_act
from survey.model.money import MoneyLine, ThreePoint
from survey.model.price import Price
from survey.money.verbs import (
    add_money_line,
    change_money_line,
    get_reckoning,
    record_payment,
    remove_money_line,
    set_contingency,
)
from survey.money.worth_verbs import add_comparison, remove_comparison, set_sale_price
from survey.outwork.verbs import change_batch, make_batch
from survey.parts.verbs import add_part, remove_part
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.verbs import set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from survey.wants.verbs import drop_want, list_wants, set_want
from web.app import create_app
from web.main import main

TOMORROW = "2999-01-01"


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    with make_survey(tmp_path / "heap", "lightweight", "Ferryman", by="Wren") as made:
        set_position(made, "B140", "missing")
        add_part(made, "B137", label="Tank with a dent")
        add_part(made, "B069")
        yield made


def line(survey: Survey, key: str) -> MoneyLine:
    return next(one for one in get_reckoning(survey).money.lines if one.key == key)


def keys(survey: Survey) -> list[str]:
    return [one.key for one in get_reckoning(survey).money.lines]


# --- lines and payments


def test_a_line_is_written_changed_put_aside_and_brought_back(survey: Survey) -> None:
    made = add_money_line(survey, "plating", kind="outwork", low="60", likely="90", high="140", note="small parts")
    assert (made.key, made.state, made.price) == ("own-1", "guess", Price(Decimal(60), Decimal(90), Decimal(140)))
    changed = change_money_line(survey, 1, spent="25", receipt="in the tin")
    assert (changed.state, changed.spent, changed.receipt) == ("committed", Decimal("25.00"), "in the tin")
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", changed.spent_at), "today unless said"
    assert list_acts(survey)[0].words == "Line of money changed: plating"
    undo_act(survey)
    assert line(survey, "own-1") == made
    redo_act(survey)
    remove_money_line(survey, 1)
    assert keys(survey) == ["want-B140"]
    (entry,) = list_bin(survey)
    assert (entry.kind, entry.words, BIN_WORDS[entry.kind]) == ("money_line", "plating", "Line of money")
    put_back(survey, "money_line", 1)
    assert line(survey, "own-1") == changed
    assert check_survey(survey) == []


@pytest.mark.parametrize(
    "fields",
    [
        {"what": " "}, {"what": "x", "kind": "beer"}, {"what": "x", "state": "perhaps"}, {"what": "x", "low": "some"},
        {"what": "x", "low": "9", "high": "3"}, {"what": "x", "spent": "1", "spent_at": "17 May"},
        {"what": "x", "spent": "1", "spent_at": TOMORROW}, {"what": "x", "spent": "1", "spent_at": "2026-02-30"},
        {"what": "x", "colour": "red"}, {"what": "x", "spent": "-4"}, {"what": "x" * 4001},
    ],
)  # fmt: skip
def test_what_cannot_be_a_line_is_refused_and_changes_nothing(survey: Survey, fields: dict[str, str]) -> None:
    add_money_line(survey, "paint", low="9")
    events = len(list_events(survey))
    with pytest.raises(BadValue):
        add_money_line(survey, **fields)
    with pytest.raises(BadValue):
        change_money_line(survey, 1, **(fields if fields != {"what": "x", "low": "9", "high": "3"} else {"high": "3"}))
    with pytest.raises(NoSuchThing):
        change_money_line(survey, 9, note="x")
    assert len(list_events(survey)) == events


def test_paying_for_a_want_makes_it_bought_in_one_act(survey: Survey) -> None:
    set_want(survey, "B140", low="5", likely="8", high="20")
    before = get_reckoning(survey)
    paid = record_payment(survey, "want-B140", "7.50", spent_at="2026-05-17", receipt="stall, no paper")
    assert (paid.key, paid.state, paid.spent, paid.spent_at) == ("own-1", "paid", Decimal("7.50"), "2026-05-17")
    assert keys(survey) == ["own-1"], "the want's own line has gone"
    assert line(survey, "own-1").component == "B140"
    (want,) = list_wants(survey)
    assert (want.state, want.count) == ("bought", 1), "bought is not had"
    undo_act(survey)
    assert get_reckoning(survey) == before
    assert list_wants(survey)[0].state == "wanted"
    redo_act(survey)
    add_part(survey, "B140")
    assert [one.count for one in list_wants(survey)] == [0]
    assert get_reckoning(survey).money.spent == Decimal("7.50"), "what is spent stays spent"


def test_what_is_here_is_not_on_its_way_again_once_it_is_paid_for(survey: Survey) -> None:
    set_want(survey, label="nuts, a tinful", state="here", high="5")
    record_payment(survey, "want-1", "4")
    assert survey.store.rows("SELECT state FROM want WHERE id = 1") == [{"state": "here"}]


def test_a_want_that_nobody_spoke_of_can_be_paid_for(survey: Survey) -> None:
    record_payment(survey, "want-B140", "3", settled=False)
    assert (line(survey, "own-1").state, list_wants(survey)[0].state) == ("committed", "bought")
    paid = record_payment(survey, "own-1", "9", receipt="by post")
    assert (paid.spent, paid.state, paid.receipt) == (Decimal("9.00"), "paid", "by post")
    assert record_payment(survey, "own-1", "10").receipt == "by post", "a receipt stays where no other is named"


def test_what_was_paid_stays_in_hand_when_its_want_is_dropped(survey: Survey) -> None:
    paid = record_payment(survey, "want-B140", "12")
    drop_want(survey, "B140")
    assert keys(survey) == [paid.key, "want-B140"]
    assert change_money_line(survey, paid.own or 0, note="sent back").note == "sent back"
    undo_act(survey)
    undo_act(survey)
    assert line(survey, paid.key) == paid
    redo_act(survey)
    put_back(survey, "want", 1)
    assert line(survey, paid.key) == paid, "it pays for it again"
    drop_want(survey, "B140")
    remove_money_line(survey, paid.own or 0)
    assert keys(survey) == ["want-B140"]
    assert check_survey(survey) == []


def test_nothing_is_paid_unless_somebody_said_how_much(survey: Survey) -> None:
    """Else a line with figures would count as nothing."""
    with pytest.raises(BadValue, match="what was paid"):
        add_money_line(survey, "bearings", likely="20", state="paid")
    add_money_line(survey, "bearings", likely="20")
    with pytest.raises(BadValue, match="what was paid"):
        change_money_line(survey, 1, state="paid")
    assert change_money_line(survey, 1, state="paid", spent="0").figures == ThreePoint(Decimal(), Decimal(), Decimal())
    assert change_money_line(survey, 1, note="a gift").state == "paid"


def test_a_thing_of_ones_own_is_paid_for_by_its_number(survey: Survey) -> None:
    set_want(survey, label="nuts, a tinful", high="5")
    record_payment(survey, "want-1", "4")
    assert get_reckoning(survey).money.spent == Decimal("4.00")
    assert [one.state for one in list_wants(survey) if one.component is None] == ["bought"]


def test_what_cannot_be_paid_is_refused(survey: Survey) -> None:
    batch = make_batch(survey, "plate", [2], who="Hollin Brothers", high="40")
    events = len(list_events(survey))
    with pytest.raises(NoSuchThing):
        record_payment(survey, "want-B999", "4")
    with pytest.raises(BadValue, match="batch"):
        record_payment(survey, f"outwork-{batch.id}", "4")
    with pytest.raises(BadValue):
        record_payment(survey, "want-B140", "")
    assert len(list_events(survey)) == events


def test_outwork_stands_among_the_lines(survey: Survey) -> None:
    batch = make_batch(survey, "plate", [2], who="Hollin Brothers", low="20", high="40")
    assert (line(survey, f"outwork-{batch.id}").what, line(survey, f"outwork-{batch.id}").state) == (
        "Plating, Hollin Brothers", "guess",
    )  # fmt: skip
    change_batch(survey, batch.id, agreed=True, likely="30", paid="10")
    found = line(survey, f"outwork-{batch.id}")
    assert (found.state, found.spent, found.to_pay) == ("committed", Decimal("10.00"), Decimal("20.00"))


def test_a_contingency_is_the_owners_own(survey: Survey) -> None:
    add_money_line(survey, "paint", low="100", likely="100", high="100")
    assert set_contingency(survey, "12.5 %") == Decimal("12.50")
    assert get_reckoning(survey).money.set_aside == Decimal("12.50")
    assert set_contingency(survey, "") is None
    undo_act(survey)
    assert get_reckoning(survey).money.contingency == Decimal("12.50")
    for written in ("a lot", "501", "-3"):
        with pytest.raises(BadValue):
            set_contingency(survey, written)


# --- worth and parts


def test_comparisons_are_dated_and_can_be_taken_back(survey: Survey) -> None:
    made = add_comparison(survey, "running", "2026-05-17", "1,450", low="1300", high="1500", where="club night")
    add_comparison(survey, "shiny", "2026-02-21", "1900", sold=False)
    found = get_reckoning(survey).worth
    assert found is not None
    assert (found.low, found.high, found.only_asked) == (Decimal("1300.00"), Decimal("1900.00"), 1)
    remove_comparison(survey, made.id)
    assert list_bin(survey)[0].words == "running, 2026-05-17"
    undo_act(survey)
    assert get_reckoning(survey).worth == found
    events = len(list_events(survey))
    for what, day, price, more in (
        ("", "2026-05-17", "9", {}), ("x", "", "9", {}), ("x", TOMORROW, "9", {}), ("x", "2026-05-17", "", {}),
        ("x", "2026-05-17", "9", {"low": "8", "high": "4"}),
    ):  # fmt: skip
        with pytest.raises(BadValue):
            add_comparison(survey, what, day, price, **more)  # type: ignore[arg-type]
    assert len(list_events(survey)) == events


def test_what_a_part_would_fetch_goes_and_comes_with_the_part(survey: Survey) -> None:
    set_sale_price(survey, 1, low="40", likely="70", high="100")
    set_sale_price(survey, 2, likely="25")
    found = get_reckoning(survey).breaking
    assert found.sum is not None and found.sum.expected == Decimal("95.00")
    set_sale_price(survey, 2, likely="25", held="pattern")
    assert [one.label for one in get_reckoning(survey).breaking.held] == ["Front hub"]
    set_sale_price(survey, 2)
    assert get_reckoning(survey).breaking.held == ()
    undo_act(survey)
    remove_part(survey, 1)
    assert get_reckoning(survey).breaking.sum is None
    put_back(survey, "part", 1)
    assert get_reckoning(survey).breaking.counted[0].label == "Tank with a dent"
    with pytest.raises(NoSuchThing):
        set_sale_price(survey, 9, low="1")
    with pytest.raises(BadValue):
        set_sale_price(survey, 1, low="5", high="1")


def test_a_pattern_for_one_that_is_missing_is_not_counted(survey: Survey) -> None:
    set_sale_price(survey, 2, likely="25")
    keep_as_pattern(survey, 2, "B140")
    (held,) = get_reckoning(survey).breaking.held
    assert held.said.held == "pattern for Petrol tap"
    keep_as_pattern(survey, 2, None)
    assert get_reckoning(survey).breaking.held == ()


# --- the commands


def run(*words: str, code: int = 0) -> str:
    result = CliRunner().invoke(main, [*words], catch_exceptions=False)
    assert result.exit_code == code, result.output
    return result.output


def test_the_commands_write_pay_compare_and_tell(survey: Survey, tmp_path: Path) -> None:
    folder = str(survey.folder)
    assert "Not known yet: no line has a figure." in run("money", folder)
    assert "own-1: the heap, paid, £260.00 paid." in run(
        "spend", folder, "--what", "the heap", "--kind", "machine", "--paid", "260", "--state", "paid"
    )
    run("spend", folder, "--what", "paint", "--low", "180", "--likely", "260", "--high", "420")
    told = json.loads(run("spend", folder, "--line", "want-B140", "--paid", "7.50", "--on", "2026-05-17", "--json"))
    assert (told["component"], told["committed"], told["spent"]) == ("B140", True, "7.50")
    assert "own-2: paint, guess." in run("spend", folder, "--line", "own-2", "--note", "stove enamel")
    assert "committed" in run("spend", folder, "--line", "own-2", "--paid", "20", "--more")
    assert ", paid," in run(
        "spend", folder, "--line", "own-2", "--paid", "20", "--receipt", "the tin", "--on", "2026-05-17"
    )
    assert "committed" in run("spend", folder, "--line", "own-2", "--state", "committed")
    run("spend", folder, "--line", "own-2", "--paid", "20", "--note", "x", "--more", code=2)
    run("worth", folder, "--like", "running", "--price", "1450", "--on", "2026-05-17")
    said = run("worth", folder, "--part", "1", "--likely", "70")
    assert "Worth: £1,450.00" in said and "part 1, Tank with a dent: likely £70.00" in said
    answer = json.loads(run("money", folder, "--contingency", "20", "--json"))
    assert answer["at_least"] is False
    assert (answer["spent"], answer["expected"], answer["range"]) == ("287.50", "540.83", ["460.83", "620.83"])
    assert answer["against"]["can_be_spent"] == ["1190.00", "1190.00"]
    assert answer["parts"]["expected"] == "70.00"
    told_plainly = run("money", folder)
    assert "Three-point method" in told_plainly and "20 per cent" in told_plainly
    path = tmp_path / "lines.csv"
    assert run("money", folder, "--to", str(path)).strip() == str(path.resolve())
    assert len(list(csv.DictReader(path.read_text("utf-8").splitlines()))) == 3
    assert json.loads(run("worth", folder, "--remove", "1", "--json"))["worth"] is None
    assert "the bin keeps it" in run("spend", folder, "--line", "own-2", "--remove")


def test_the_commands_refuse_in_words(survey: Survey) -> None:
    folder = str(survey.folder)
    run("spend", folder, code=2)
    run("spend", folder, "--line", "want-B140", "--low", "3", code=2)
    run("spend", folder, "--line", "x", "--remove", code=2)
    assert "“May” is no day." in run("worth", folder, "--like", "x", "--price", "3", "--on", "May", code=1)
    assert "End the name in .csv" in run("money", folder, "--to", "lines.pdf", code=1)


# --- the pages


@pytest.fixture
def client(survey: Survey) -> Iterator[CheckedClient]:
    made = create_app(survey.folder)
    yield CheckedClient(made)
    made.extensions["survey"].close()


def go(client: CheckedClient, page: Page, action: str, status: int = 303, **said: str) -> Page:
    """Send the form with that address as the page has it, with some fields said."""
    return client.post(action, {**page.form(action), **said}, status)


def test_the_money_page_writes_pays_compares_and_sells(client: CheckedClient) -> None:
    page = client.get("/plan/money/")
    assert "no line has a figure" in page.words
    go(client, page, "/plan/money/lines", what="The boxes", sort="machine", stands="guess", low="200", high="300")
    go(client, page, "/plan/money/comparisons", what="one like it", seen_on="2026-02-03", price="900")
    go(client, page, "/plan/money/parts", part="1", likely="12")
    go(client, page, "/plan/money/contingency", percent="20")
    page = client.get("/plan/money/")
    for words in (
        "At least £200.00",
        "one like it: £900.00",
        "£12.00 expected",
        "20 per cent",
        "1 line has no price",
    ):
        assert words in page.words, words
    assert [one["aria-label"][:5] for one in page.all("svg") if one["class"] == "money-drawing"] == ["Cost:"]
    client.post("/plan/money/pay", {"line": "own-1", "spent": "250", "spent_at": "2026-02-03", "receipt": "in the tin"})
    go(client, client.get("/plan/money/"), "/plan/money/lines/1", what="The seven boxes")
    words = client.get("/plan/money/").words
    assert "The seven boxes" in words and "£250.00 paid on 3 February 2026" in words and "in the tin" in words
    assert "By the old rule" in words
    client.post("/plan/money/comparisons/1/remove")
    client.post("/plan/money/lines/1/remove")
    words = client.get("/plan/money/").words
    assert "The seven boxes" not in words and "No comparison is written down yet" in words
    assert client.get("/bin").words.count("Put back") >= 2


def test_the_money_page_changes_nothing_it_was_not_told(client: CheckedClient) -> None:
    client.post("/plan/money/lines", {"what": "Paint", "low": "1", "likely": "2", "high": "3", "sort": "tools"})
    client.post("/plan/money/lines/1", {"note": "stove enamel"})
    table = client.get("/plan/money/take").response.text
    assert "own-1,Paint,tools,own,,1.00,2.00,3.00,2.00,0.33,guess,,,,stove enamel,GBP" in table
    client.post("/plan/money/lines/1", {"low": "", "likely": "", "high": ""})
    assert "own-1,Paint,tools,own,,,,,,,guess" in client.get("/plan/money/take").response.text


def test_a_line_leads_to_where_its_figures_are_said(client: CheckedClient) -> None:
    client.post("/plan/outwork/new", {"trade": "plate", "part": "1", "who": "Hollin Brothers"})
    links = client.get("/plan/money/").links
    assert {"/plan/outwork/1", "/plan/wants/#B140"} <= set(links.values())


def test_the_money_page_refuses_in_words(client: CheckedClient) -> None:
    for address, said in (
        ("/plan/money/lines", {"what": ""}), ("/plan/money/lines", {"what": "x", "low": "9", "high": "3"}),
        ("/plan/money/pay", {"line": "want-B140", "spent": "ten"}),
        ("/plan/money/comparisons", {"what": "x", "price": "3", "seen_on": TOMORROW}),
        ("/plan/money/contingency", {"percent": "lots"}), ("/plan/money/parts", {"part": "", "low": "3"}),
        ("/plan/gates/say", {"gate": "papers", "says": "yes", "because": ""}),
        ("/plan/gates/say", {"gate": "papers", "because": "x"}),
    ):  # fmt: skip
        assert client.post(address, said, 400).words
    assert "no line has a figure" in client.get("/plan/money/").words


def test_the_gates_page_shows_the_word_beside_what_is_recorded(client: CheckedClient) -> None:
    words = client.get("/plan/gates/").words
    assert "0 of 6 gates. 6 not known." in words and "owner’s word" not in words, "nobody has given one"
    assert words.count("To settle it") == 6
    client.post("/plan/gates/say", {"gate": "frame-and-fork", "says": "yes", "because": "looks straight"})
    client.post("/plan/gates/say", {"gate": "room-and-time", "says": "yes", "because": "the cowshed"})
    words = client.get("/plan/gates/").words
    assert "1 of 6 gates: 1 yes. 5 not known." in words
    assert words.count("on its owner’s word") == 1 and "looks straight" in words, "of the cowshed alone"
    client.post("/plan/gates/say", {"gate": "room-and-time", "says": "nothing"})
    assert "0 of 6 gates" in client.get("/plan/gates/").words
