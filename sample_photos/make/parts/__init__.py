"""The parts of the invented Ferryman, by name: each a function that returns a Subject at the origin."""

import importlib
import pkgutil

PARTS = {}
for _module in pkgutil.iter_modules(__path__):
    for _name, _made in vars(importlib.import_module(f"parts.{_module.name}")).items():
        if callable(_made) and not _name.startswith("_") and _made.__module__ == f"parts.{_module.name}":
            PARTS[_name] = _made
