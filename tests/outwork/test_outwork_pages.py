"""Outwork in the browser door: made up, sent out, looked over on its return.

The client's survey has batch 1 being made up, and batch 2 out and looked over with a dent.
"""

from __future__ import annotations

from web_client import CheckedClient

from survey.outwork.verbs import get_batch, list_batches, make_batch, send_batch
from survey.store.survey import Survey


def test_a_batch_goes_out_and_back_in_the_browser(client: CheckedClient, survey: Survey) -> None:
    page = client.get("/plan/outwork/")
    for piece in ("Hollin Brothers", "Ostler Wheels", "Back, and to be looked over", "1 batch being made up"):
        assert piece in page.words, piece
    made = client.send("/plan/outwork/new", {"trade": "paint", "part": "4", "who": "Marl"})
    assert "Batch made up." in made.words and "strange lug" in made.words
    number = list_batches(survey)[-1].id
    item = get_batch(survey, number).items[0].id
    assert "stays here" in made.words, "nobody knows what the lug is: it may be a tank"
    said = {
        "finish": "green", "count": "1", "tag": "4", "plug": "none", "keep_off": "none", "size_name": "bore",
        "size": "10 mm", "check": "vapour-free", "answer": "yes", "hydrogen": "not-hard",
    }  # fmt: skip
    page = client.send(f"/plan/outwork/{number}/items/{item}/say", said)
    kept = get_batch(survey, number).items[0]
    assert (kept.finish, kept.before, dict(kept.said)) == ("green", (("bore", "10 mm"),), {"vapour-free": "yes"})
    page = client.send(f"/plan/outwork/{number}/say", {"promised": "2026-07-10", "agreed": "yes", "likely": "30",
                                                       "ask": "colour", "told": "dairy green"})  # fmt: skip
    assert "£30.00" in page.words and "dairy green" in page.html
    refused = client.post(f"/plan/outwork/{number}/send", {"day": "2026-06-20"}, 400)
    assert "Not everything is looked at" in refused.words
    page = client.send(f"/plan/outwork/{number}/send", {"day": "2026-06-20", "signed": "Wren", "anyway": "only a lug"})
    assert "only a lug" in page.words
    assert "with the painter (Marl) since 20 June 2026" in client.get("/parts/4").words
    back = {"came_back": "1", "day": "2026-07-01", "size_name": "bore", "size": "9.9 mm", "threads": "closed"}
    page = client.send(f"/plan/outwork/{number}/items/{item}/back", back)
    assert "Bore was 10 mm, now 9.9 mm: 0.100 mm less." in page.words
    page = client.send(f"/plan/outwork/{number}/close", {"day": "2026-07-02", "signed": "Wren"})
    assert get_batch(survey, number).state == "back"


def test_a_batch_is_filled_emptied_and_put_in_the_bin(client: CheckedClient, survey: Survey) -> None:
    client.send("/plan/outwork/1/add", {"part": "2"})
    assert [item.part for item in get_batch(survey, 1).items] == [1, 2]
    page = client.get("/plan/outwork/1")
    client.send("/plan/outwork/1/items/3/remove", page.form("/plan/outwork/1/items/3/remove"))
    assert [item.part for item in get_batch(survey, 1).items] == [1]
    client.send("/plan/outwork/1/remove", {})
    assert [one.id for one in list_batches(survey)] == [2]
    assert "There is no batch 1" in client.get("/plan/outwork/1", 404).words


def test_what_cannot_be_done_with_a_batch_is_said(client: CheckedClient, survey: Survey) -> None:
    assert "Batch 1 has no item 2" in client.post("/plan/outwork/1/items/2/say", {"tag": "x"}, 404).words
    refused = client.post("/plan/outwork/2/items/2/back", {"threads": "run"}, 400)
    assert "Nobody said how many came back." in refused.words
    assert "There is no trade" in client.post("/plan/outwork/new", {"trade": "x"}, 404).words
    assert [one.id for one in list_batches(survey)] == [1, 2]


def test_the_docket_is_read_and_taken_away(client: CheckedClient) -> None:
    page = client.get("/plan/outwork/2/docket")
    assert "Docket 2: wheel building" in page.words
    assert any((one["href"], one.words) == ("/plan/outwork/2", "Back to batch 2") for one in page.all("a"))
    for kind, start in (("pdf", b"%PDF"), ("html", b"<!doctype html>")):
        taken = client.get(f"/plan/outwork/2/take/{kind}").response
        assert taken.headers["Content-Disposition"] == f"attachment; filename=docket-2-spoke.{kind}"
        assert taken.get_data().startswith(start)


def test_today_tells_what_is_out_overdue_and_back(client: CheckedClient, survey: Survey) -> None:
    assert "Safety parts back from a trade, to be looked over" in client.get("/").words
    assert "Batches out with a trade" not in client.get("/").words
    lug = make_batch(survey, "examine", [4], who="Tollbar Testing", promised="2026-06-20")
    send_batch(survey, lug.id, day="2026-06-08", anyway="to hear what it is")
    assert "Batches out with a trade, overdue: 1" in client.get("/").words
