"""Fits in the browser door: recorded, told on the part, on the plan and on the dry build; the spacer worked out."""

from __future__ import annotations

from web_client import CheckedClient
from web_survey import BAR, PLATE, RIM

from survey.fits.joints import describe_progress
from survey.fits.verbs import add_fit, list_fits, list_progress
from survey.parts.verbs import add_part
from survey.store.survey import Survey

TRIAL = {"part": str(RIM), "other": str(PLATE), "result": "packing", "packed": "a tin washer", "side": "near",
         "gap": "21.4 mm ± 0.1 mm", "width": "19 mm ± 0.1 mm", "photos": "2, 3", "note": "rubs without it"}  # fmt: skip


def test_a_trial_is_recorded_told_everywhere_changed_and_removed(client: CheckedClient, survey: Survey) -> None:
    page = client.send("/plan/fits/", TRIAL)
    assert "Goes with packing: a tin washer, near side (left). A spacer of 2.4 mm" in page.words
    (one,) = list_fits(survey)
    assert one.said.photos == (2, 3)
    for address in ("/plan/", f"/parts/{RIM}", f"/parts/{PLATE}"):
        assert "Goes with packing: a tin washer" in client.get(address).words
    assert "Joints that do not go or are only packed" in client.get("/").words
    assert "a tin washer" not in client.get(f"/parts/{BAR}").words
    page = client.send(f"/plan/fits/{one.said.id}", {"result": "does-not", "note": "rubs all the same"})
    assert "Does not go." in page.words
    assert "Nothing is packed." in page.words
    client.send(f"/plan/fits/{one.said.id}/remove", {})
    assert list_fits(survey) == []


def test_the_form_comes_with_the_parts_that_were_asked_for(client: CheckedClient) -> None:
    page = client.get(f"/plan/fits/?part={RIM}&other={PLATE}")
    picked = [one["value"] for one in page.by_id("record").walk() if one.tag == "option" and one.has("selected")]
    assert picked[:2] == [str(RIM), str(PLATE)]


def test_the_dry_build_tells_how_far_each_assembly_has_got(client: CheckedClient, survey: Survey) -> None:
    add_part(survey, "B068", quantity=36)
    add_fit(survey, RIM, 5, "goes")
    words = client.get("/plan/order").words
    for one in list_progress(survey):
        assert f"{one.assembly} {describe_progress(one)}" in words
    assert "1 goes together" in words
    assert "Front spokes and nipples to Front wheel rim Goes together" in client.get("/plan/fits/").words


def test_a_joint_never_tried_leads_to_its_form(client: CheckedClient, survey: Survey) -> None:
    add_part(survey, "B068", quantity=36)
    page = client.get("/plan/fits/")
    assert any(one["href"] == f"/plan/fits/?part={RIM}&other=5#record" for one in page.all("a"))


def test_a_spacer_is_worked_out_without_recording_anything(client: CheckedClient, survey: Survey) -> None:
    page = client.get("/plan/fits/?gap=112.4+mm+±+0.3+mm&width=110+mm+±+0.4+mm&sides=2")
    assert "Spacers of 1.2 mm (3/64 in plus 0.009 mm) on each side, give or take 0.25 mm" in page.words
    assert "too wide" in client.get("/plan/fits/?gap=71.5+mm&width=76+mm").words
    assert "has no unit" in client.get("/plan/fits/?gap=71.5&width=76+mm", 400).words
    assert list_fits(survey) == []


def test_what_cannot_be_so_is_refused_in_words(client: CheckedClient, survey: Survey) -> None:
    refused = client.post("/plan/fits/", {**TRIAL, "result": ""}, 400)
    assert "Nobody said how the two went together." in refused.words
    assert "does not go to itself" in client.post("/plan/fits/", {**TRIAL, "other": str(RIM)}, 400).words
    assert "what the packing is" in client.post("/plan/fits/", {**TRIAL, "packed": ""}, 400).words
    assert "21 photos are too many" in client.post("/plan/fits/", {**TRIAL, "photos": "2 " * 21}, 400).words
    client.post("/plan/fits/", {**TRIAL, "photos": "99"}, 404)
    client.post("/plan/fits/7", {"result": "goes"}, 404)
    assert list_fits(survey) == []
