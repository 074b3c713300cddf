"""One verb for each thing a person does at the bench; both doors use these and nothing below them.

Every verb that changes something is one transaction together with its history. Every refusal is a
``survey.errors.Refusal``. Importing this package loads no web, imaging or printing library.
"""

from survey.bench.acts import VERBS, acts, next_turns, redo, undo
from survey.bench.belongs import (
    BelongingPart,
    add_evidence,
    belonging,
    belonging_of,
    belongings,
    keep_as_pattern,
    remove_evidence,
    to_pass_on,
)
from survey.bench.binned import BIN_DAYS, BIN_KINDS, BIN_WORDS, BinEntry, binned, empty_bin, put_back
from survey.bench.cautions import cautions
from survey.bench.copies import copies
from survey.bench.cutting import crop
from survey.bench.findings import (
    add_finding,
    add_reading,
    finding_kinds,
    held_readings,
    nothing_wrong,
    reading_kinds,
    remove_finding,
    remove_look,
    remove_reading,
    seen_unless_said,
)
from survey.bench.fits import (
    TrialFit,
    add_fit,
    change_fit,
    fit_in_words,
    fits,
    joint_name,
    joints,
    loose_build,
    packings,
    remove_fit,
    spacer_for,
)
from survey.bench.gates import gates, say_of_gate
from survey.bench.keeping import (
    backup,
    daily_snapshot,
    export,
    hold,
    mend,
    old_libraries,
    restore,
    risky_place,
    snapshot,
    snapshot_before_intake,
)
from survey.bench.money import (
    MONEY_FIELDS,
    Reckoning,
    add_money_line,
    change_money_line,
    money,
    money_drawing,
    money_table,
    pay,
    reckoning_words,
    remove_money_line,
    set_contingency,
)
from survey.bench.order import (
    add_before,
    blocks,
    pairs_off,
    plan,
    put_pair_off,
    put_pair_on,
    remove_before,
    say_of_step,
    steps,
)
from survey.bench.out import copy_contents, report, report_html, report_style
from survey.bench.outwork import (
    BATCH_FIELDS,
    ITEM_FIELDS,
    add_to_batch,
    away,
    batch,
    batches,
    change_batch,
    change_item,
    close_batch,
    local_day,
    make_batch,
    out_checks,
    outwork_in_words,
    overdue,
    remove_batch,
    remove_item,
    returns,
    send_batch,
    suggested_batches,
    take_back,
    to_examine,
    trades,
)
from survey.bench.outwork_paper import docket, docket_html, outwork_lines
from survey.bench.parts import add_part, change_part, facts_of, override, part, parts, remove_part
from survey.bench.photos import (
    add_mark,
    capture_runs,
    marks,
    move_mark,
    note_photo,
    photo,
    photos,
    picture_path,
    place_photo,
    remove_mark,
    remove_photo,
    set_aside,
    take_in,
    unplace_photo,
)
from survey.bench.placing import boxes, find_photos, next_things, place_photos, put_in_box, still_wanted, suggest
from survey.bench.proofs import Problem, check, rulebook, vocabulary
from survey.bench.schedule import (
    add_component,
    completeness,
    component,
    duty_unless_said,
    extra,
    gaps,
    remove_component,
    schedule,
    set_position,
    set_quantity,
    standings,
)
from survey.bench.stuck import StuckThing, add_stuck, change_stuck, removal, remove_stuck, stuck, stuck_line
from survey.bench.survey import (
    Survey,
    add_number,
    describe,
    history,
    kinds,
    machine,
    make_survey,
    open_survey,
    remove_number,
)
from survey.bench.wants import drop_want, set_currency, set_want, wants, wants_by_stall
from survey.bench.wants_paper import WANT_COPIES, wants_paper
from survey.bench.worth import add_comparison, remove_comparison, set_sale_price
from survey.gauge.spacing import Spacer, spacer_in_words
from survey.gauge.stuck import ONE_OF as STUCK_GROUPS
from survey.grading import Row, numbers_of, reasons, when_in_words, within_in_words
from survey.planning.blocks import Block
from survey.planning.fits import (
    FIT_RESULTS,
    FIT_SIDES,
    FIT_WORDS,
    JOINT_WORDS,
    SIDE_WORDS,
    JointStands,
    Progress,
    progress_in_words,
)
from survey.planning.gaps import Count, Standing, what_stops
from survey.planning.gates import GATE_OUTCOMES, GATE_WORDS, Gate, GateWord, gates_in_words
from survey.planning.money import LINE_KINDS, LINE_STATES, LINE_WORDS, MoneyLine
from survey.planning.order import SAID_OF_STEPS, STEP_WORDS, BeforePair, Plan, PlanStep, circle_words
from survey.planning.outwork import BATCH_WORDS, HYDROGEN_WORDS, THREADS_WORDS, Away, Batch, BatchItem, Trade, Trades
from survey.planning.outwork_checks import ANSWER_WORDS, OutCheck, Return, open_checks
from survey.planning.outwork_next import Candidate, Suggestion
from survey.planning.prices import money_words, price_words
from survey.planning.wants import SCARCITIES, WANT_STATES, WANT_WORDS, Want, WantLine, outstanding, wants_in_words
from survey.words import (
    DUTY_WORDS,
    GAP_WORDS,
    OUTCOME_WORDS,
    SEEN_WORDS,
    STATE_WORDS,
    capital,
    many,
    part_name,
    reading_in_words,
)

__all__ = [
    "ANSWER_WORDS", "BATCH_FIELDS", "BATCH_WORDS", "BIN_DAYS", "BIN_KINDS", "BIN_WORDS", "DUTY_WORDS",
    "FIT_RESULTS", "FIT_SIDES", "FIT_WORDS", "GAP_WORDS", "GATE_OUTCOMES", "GATE_WORDS", "HYDROGEN_WORDS",
    "ITEM_FIELDS", "JOINT_WORDS", "LINE_KINDS", "LINE_STATES", "LINE_WORDS", "MONEY_FIELDS", "OUTCOME_WORDS",
    "SAID_OF_STEPS", "SCARCITIES", "SEEN_WORDS", "SIDE_WORDS", "STATE_WORDS", "STEP_WORDS", "STUCK_GROUPS",
    "THREADS_WORDS", "VERBS", "WANT_COPIES", "WANT_STATES", "WANT_WORDS", "Away", "Batch", "BatchItem", "BeforePair",
    "BelongingPart", "BinEntry", "Block", "Candidate", "Count", "Gate", "GateWord", "JointStands", "MoneyLine",
    "OutCheck", "Plan", "PlanStep", "Problem", "Progress", "Reckoning", "Return", "Row", "Spacer", "Standing",
    "StuckThing", "Suggestion", "Survey", "Trade", "Trades", "TrialFit", "Want", "WantLine", "acts", "add_before",
    "add_comparison", "add_component", "add_evidence", "add_finding", "add_fit", "add_mark", "add_money_line",
    "add_number", "add_part", "add_reading", "add_stuck", "add_to_batch", "away", "backup", "batch", "batches",
    "belonging", "belonging_of", "belongings", "binned", "blocks", "boxes", "capital", "capture_runs", "cautions",
    "change_batch", "change_fit", "change_item", "change_money_line", "change_part", "change_stuck", "check",
    "circle_words", "close_batch", "completeness", "component", "copies", "copy_contents", "crop",
    "daily_snapshot", "describe", "docket", "docket_html", "drop_want", "duty_unless_said", "empty_bin", "export",
    "extra", "facts_of", "find_photos", "finding_kinds", "fit_in_words", "fits", "gaps", "gates", "gates_in_words",
    "held_readings", "history", "hold", "joint_name", "joints", "keep_as_pattern", "kinds", "local_day",
    "loose_build", "machine", "make_batch", "make_survey", "many", "marks", "mend", "money", "money_drawing",
    "money_table", "money_words", "move_mark", "next_things", "next_turns", "note_photo", "nothing_wrong",
    "numbers_of", "old_libraries", "open_checks", "open_survey", "out_checks", "outstanding", "outwork_in_words",
    "outwork_lines", "overdue", "override", "packings", "pairs_off", "part", "part_name", "parts", "pay", "photo",
    "photos", "picture_path", "place_photo", "place_photos", "plan", "price_words", "progress_in_words",
    "put_back", "put_in_box", "put_pair_off", "put_pair_on", "reading_in_words", "reading_kinds", "reasons",
    "reckoning_words", "redo", "removal", "remove_batch", "remove_before", "remove_comparison", "remove_component",
    "remove_evidence", "remove_finding", "remove_fit", "remove_item", "remove_look", "remove_mark",
    "remove_money_line", "remove_number", "remove_part", "remove_photo", "remove_reading", "remove_stuck",
    "report", "report_html", "report_style", "restore", "returns", "risky_place", "rulebook", "say_of_gate",
    "say_of_step", "schedule", "seen_unless_said", "send_batch", "set_aside", "set_contingency", "set_currency",
    "set_position", "set_quantity", "set_sale_price", "set_want", "snapshot", "snapshot_before_intake",
    "spacer_for", "spacer_in_words", "standings", "steps", "still_wanted", "stuck", "stuck_line", "suggest",
    "suggested_batches", "take_back", "take_in", "to_examine", "to_pass_on", "trades", "undo", "unplace_photo",
    "vocabulary", "wants", "wants_by_stall", "wants_in_words", "wants_paper", "what_stops", "when_in_words",
    "within_in_words",
]  # fmt: skip
