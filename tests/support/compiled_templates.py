"""The pages' templates, compiled once in a run: each app that a test makes would compile them anew."""

from __future__ import annotations

from types import CodeType
from typing import Any

from flask import Flask
from flask.templating import Environment
from jinja2 import BytecodeCache
from jinja2.bccache import Bucket


class _Kept(BytecodeCache):
    """Code by the template it comes from and by its source, so that a changed template is compiled anew."""

    def __init__(self) -> None:
        self.code: dict[tuple[str, str], CodeType] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        bucket.code = self.code.get((bucket.key, bucket.checksum))

    def dump_bytecode(self, bucket: Bucket) -> None:
        assert bucket.code is not None
        self.code[bucket.key, bucket.checksum] = bucket.code


KEPT = _Kept()


class KeepingEnvironment(Environment):
    """What Flask makes for each app, with the code that an earlier one has compiled."""

    def __init__(self, app: Flask, **options: Any) -> None:
        super().__init__(app, bytecode_cache=KEPT, **options)
