"""Does it belong, in the browser door: recorded on the part's page, told for all of them on one page."""

from __future__ import annotations

from web_client import CheckedClient
from web_survey import BAR, LUG, PLATE

from survey.belonging.verbs import add_evidence, get_belonging, list_parts_to_pass_on
from survey.store.survey import Survey


def test_the_part_page_records_evidence_and_tells_the_sum(client: CheckedClient, survey: Survey) -> None:
    page = client.send(
        f"/parts/{PLATE}/belongs", {"evidence": "wear", "note": "it runs in the hub's mark", "photo": "2"}
    )
    assert "Probably belongs" in page.words
    assert "5 (it goes on unaltered, and its wear marks meet its neighbour's) = 5" in page.words
    assert "This would settle it: Look its number up" in page.words
    assert "it runs in the hub's mark" in page.words
    (said,) = get_belonging(survey, PLATE).said
    assert said.photo == 2
    page = client.send(f"/parts/{PLATE}/belongs/{said.id}/remove", {})
    assert get_belonging(survey, PLATE).said == ()
    assert "it runs in the hub" not in page.words


def test_the_page_of_all_tells_what_to_pass_on(client: CheckedClient, survey: Survey) -> None:
    assert "No part is of another machine" in client.get("/plan/belongs").words
    client.send(f"/parts/{LUG}/belongs", {"evidence": "foreign", "note": "it goes nowhere"})
    client.send(f"/parts/{BAR}/belongs", {"evidence": "number"})
    page = client.get("/plan/belongs")
    assert "It can be passed on." in page.words
    assert page.html.index('id="pass-on"') < page.html.index("strange lug") < page.html.index('id="belongs"')
    page = client.send(f"/parts/{LUG}/belongs/pattern", {"component": "B055"})
    assert "Kept as a pattern for Front brake lever" in page.words
    assert "a pattern for Front brake lever (missing)" in client.get("/plan/belongs").words
    client.send(f"/parts/{LUG}/belongs/pattern", {"component": ""})
    assert list_parts_to_pass_on(survey)[0].held == ""


def test_what_cannot_be_so_is_refused_in_words(client: CheckedClient, survey: Survey) -> None:
    add_evidence(survey, PLATE, "number")
    assert "Nobody said what was seen." in client.post(f"/parts/{PLATE}/belongs", {"note": "x"}, 400).words
    assert "no kind of evidence" in client.post(f"/parts/{PLATE}/belongs", {"evidence": "dream"}, 400).words
    assert "Nothing 1 was said of part 1." in client.post(f"/parts/{BAR}/belongs/1/remove", {}, 404).words
    assert len(get_belonging(survey, PLATE).said) == 1
