"""Reads the trades to whom work is sent from survey/data/trades.toml and proves them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from itertools import pairwise
from typing import Any, TypeVar

from survey.knowledge.vocabulary import Vocabulary, data_text, fault, line_of, toml, vocabulary
from survey.planning.outwork import Ask, HydrogenTable, PartCheck, Trade, Trades

_FILE = "trades.toml"
_SECTIONS = ("elsewhere", "trade", "check", "hydrogen")
_Row = TypeVar("_Row")
_Fault = tuple[str, str, str, Iterable[object]]


@lru_cache(maxsize=1)
def trades() -> Trades:
    """The trades in their order. Raises BrokenKnowledge at a faulty file."""
    return read_trades(data_text(_FILE), vocabulary())


def read_trades(text: str, words: Vocabulary, name: str = _FILE) -> Trades:
    """The trades that stand in a TOML text, proved: known words only, each word of the rules with one trade."""
    content = toml(text, name)
    for section in content:
        if section not in _SECTIONS:
            raise fault(name, line_of(text, f"[[{section}]]"), section, "section", "there is none such", _SECTIONS)
    found = Trades(
        trades=tuple(_trade(raw, text, name) for raw in content.get("trade", [])),
        checks=tuple(_made(PartCheck, raw, text, name) for raw in content.get("check", [])),
        hydrogen=_made(HydrogenTable, content.get("hydrogen", {}), text, name),
        elsewhere=tuple(content.get("elsewhere", ())),
    )
    for row, cell, wrong, allowed in (*_of_trades(found), *_of_checks(found, words), *_of_hydrogen(found, words)):
        raise fault(name, line_of(text, f'id = "{row}"'), row, cell, wrong, allowed)
    return found


def _trade(raw: Mapping[str, Any], text: str, name: str) -> Trade:
    asks = tuple(_made(Ask, ask, text, name) for ask in raw.get("ask", ()))
    return _made(Trade, {**raw, "ask": asks}, text, name)


def _made(kind: type[_Row], raw: Mapping[str, Any], text: str, name: str) -> _Row:
    try:
        return kind(**{cell: _fixed(value) for cell, value in raw.items()})
    except TypeError as error:
        row = str(raw.get("id", "without an id"))
        allowed = tuple(kind.__annotations__)
        raise fault(name, line_of(text, f'id = "{row}"'), row, kind.__name__.lower(), str(error), allowed) from error


def _fixed(value: Any) -> Any:
    return tuple(_fixed(one) for one in value) if isinstance(value, list | tuple) else value


def _of_trades(found: Trades) -> Iterator[_Fault]:
    """Two of one name, a word that names two trades, a trade that nobody vouches for."""
    at = dict.fromkeys(found.elsewhere, "elsewhere")
    known: set[str] = set()
    for trade in found.trades:
        if trade.id in known:
            yield trade.id, "id", "it is there twice", ("each once",)
        known.add(trade.id)
        for word in trade.words:
            if word in at:
                yield trade.id, "words", f"{word!r} is at {at[word]} already", ("one trade a word",)
            at[word] = trade.id
        if not trade.source:
            yield trade.id, "source", "nobody says so", ("a source",)


def _of_checks(found: Trades, words: Vocabulary) -> Iterator[_Fault]:
    for check in found.checks:
        for cell, said, allowed in (
            ("trades", check.trades, [one.id for one in found.trades]),
            ("classes", check.classes, list(words.class_)),
            ("materials", check.materials, list(words.material)),
            ("duties", check.duties, list(words.duty)),
        ):
            yield from _unknown(check.id, cell, said, allowed)
        if not check.source:
            yield check.id, "source", "nobody says so", ("a source",)


def _of_hydrogen(found: Trades, words: Vocabulary) -> Iterator[_Fault]:
    table = found.hydrogen
    for cell, said, allowed in (
        ("trades", table.trades, [one.id for one in found.trades]),
        ("never_classes", table.never_classes, list(words.class_)),
        ("ask_classes", table.ask_classes, list(words.class_)),
        ("never_materials", table.never_materials, list(words.material)),
        ("ask_materials", table.ask_materials, list(words.material)),
    ):
        yield from _unknown("hydrogen", cell, said, allowed)
    ends = [(low, high) for low, high, _ in table.hours]
    if not ends or any(low != before + 1 for (_, before), (low, _) in pairwise(ends)):
        yield "hydrogen", "hours", "the strengths leave a hole, or there are none", ("each begins where the last ends",)


def _unknown(row: str, cell: str, said: Iterable[str], allowed: list[str]) -> Iterator[_Fault]:
    for word in said:
        if word not in allowed:
            yield row, cell, f"{word!r} is not known", allowed
