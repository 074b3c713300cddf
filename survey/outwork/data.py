"""Reads the trades to whom work is sent from survey/data/trades.toml and validates them."""

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
    """The trades of a TOML text, validated: known words only, each word of the rules with one trade."""
    file = TomlFile(name, text, ("elsewhere", "trade", "check", "hydrogen"))
    trades = file.records("trade", Trade)
    known = Closed([trade.id for trade in trades], "is not known")
    classes, materials = Closed(words.class_, "is not known"), Closed(words.material, "is not known")
    elsewhere = tuple(file.content.get("elsewhere", ()))
    _require_one_trade_per_word(file, trades, elsewhere)
    check_words = {
        "trades": known, "classes": classes, "materials": materials, "duties": Closed(words.duty, "is not known"),
    }  # fmt: skip
    hydrogen_words = {
        "trades": known, "never_classes": classes, "ask_classes": classes, "never_materials": materials,
        "ask_materials": materials,
    }  # fmt: skip
    row = file.table("hydrogen")
    hydrogen = row.record(HydrogenTable, hydrogen_words, besides=("id",))
    if any(low != before + 1 for (_, before, _), (low, _, _) in pairwise(hydrogen.hours)):
        raise row.fault("hours", "the strengths leave a hole", ("each begins where the last ends",))
    return Trades(trades, file.records("check", PartCheck, check_words), hydrogen, elsewhere)


def _require_one_trade_per_word(file: TomlFile, trades: tuple[Trade, ...], elsewhere: tuple[str, ...]) -> None:
    trade_of = dict.fromkeys(elsewhere, "elsewhere")
    for trade in trades:
        for word in trade.words:
            if word in trade_of:
                raise file.fault_of(
                    trade.id, "words", f"{word!r} is at {trade_of[word]} already", ("one trade a word",)
                )
            trade_of[word] = trade.id
