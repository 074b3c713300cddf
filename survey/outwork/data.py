"""Reads the trades to whom work is sent from survey/data/trades.toml and proves them."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

from survey.data_files import Closed, TomlFile, read_data_text
from survey.model.outwork import HydrogenTable, PartCheck, Trade, Trades
from survey.vocabulary import Vocabulary, load_vocabulary

_FILE = "trades.toml"


@lru_cache(maxsize=1)
def load_trades() -> Trades:
    """The trades in their order. Raises BrokenKnowledge at a faulty file."""
    return parse_trades(read_data_text(_FILE), load_vocabulary())


def parse_trades(text: str, words: Vocabulary, name: str = _FILE) -> Trades:
    """The trades that stand in a TOML text, proved: known words only, each word of the rules with one trade."""
    file = TomlFile(name, text, ("elsewhere", "trade", "check", "hydrogen"))
    found = file.records("trade", Trade)
    known = Closed([one.id for one in found], "is not known")
    classes, materials = Closed(words.class_, "is not known"), Closed(words.material, "is not known")
    elsewhere = tuple(file.content.get("elsewhere", ()))
    _one_trade_a_word(file, found, elsewhere)
    asked = {
        "trades": known, "classes": classes, "materials": materials, "duties": Closed(words.duty, "is not known"),
    }  # fmt: skip
    plated = {
        "trades": known, "never_classes": classes, "ask_classes": classes, "never_materials": materials,
        "ask_materials": materials,
    }  # fmt: skip
    row = file.table("hydrogen")
    hydrogen = row.record(HydrogenTable, plated, besides=("id",))
    if any(low != before + 1 for (_, before, _), (low, _, _) in pairwise(hydrogen.hours)):
        raise row.fault("hours", "the strengths leave a hole", ("each begins where the last ends",))
    return Trades(found, file.records("check", PartCheck, asked), hydrogen, elsewhere)


def _one_trade_a_word(file: TomlFile, trades: tuple[Trade, ...], elsewhere: tuple[str, ...]) -> None:
    at = dict.fromkeys(elsewhere, "elsewhere")
    for trade in trades:
        for word in trade.words:
            if word in at:
                raise file.fault_of(trade.id, "words", f"{word!r} is at {at[word]} already", ("one trade a word",))
            at[word] = trade.id
