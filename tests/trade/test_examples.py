"""The worked examples in the contracts of the formulas hold, and every public formula has one."""

import ast
import doctest
import importlib
import pkgutil
from pathlib import Path

import pytest

import sitebot.trade

MODULES = [m.name for m in pkgutil.iter_modules(sitebot.trade.__path__)]
#: Vector arithmetic with nothing to explain.
PLAIN = {"dot", "cross", "unit", "mirrored"}


@pytest.mark.parametrize("name", MODULES)
def test_worked_examples_hold(name):
    """Every doctest of the module passes, and there is at least one."""
    result = doctest.testmod(importlib.import_module(f"sitebot.trade.{name}"))
    assert result.attempted > 0
    assert result.failed == 0


def formulas():
    for name in MODULES:
        tree = ast.parse((Path(sitebot.trade.__path__[0]) / f"{name}.py").read_text(encoding="utf-8"))
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and node.name not in PLAIN:
                yield f"{name}.{node.name}", ast.get_docstring(node) or ""


@pytest.mark.parametrize(("name", "contract"), list(formulas()), ids=lambda value: value.partition("\n")[0][:40])
def test_contract_of_a_formula(name, contract):
    """The docstring names limits and a source and gives a worked example."""
    assert "source" in contract.lower(), name
    assert ">>>" in contract, name
