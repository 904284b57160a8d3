"""YAML read as text: every scalar is a string, a key given twice is an error.

``no``, ``si``, ``1:30`` and ``4`` stay what they are on the page; types downstream give them meaning. Only files of our
own data are read here; nothing is ever built from a tag.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Any

import yaml

from sitebot.errors import DataError


class TextLoader(yaml.BaseLoader):
    """BaseLoader knows strings, lists and maps only; this one also refuses a key that stands twice."""


class _Compiled(getattr(yaml, "CBaseLoader", yaml.BaseLoader)):  # type: ignore[misc]
    """The same by the compiled parser, where the library has it: ten times as fast, but it places errors less well."""


def _map_once(loader: TextLoader, node: yaml.MappingNode) -> dict[Any, Any]:
    seen: dict[str, int] = {}
    for key, _ in node.value:
        line = key.start_mark.line + 1
        if key.value in seen:
            raise DataError(f"line {line}: key {key.value!r} stands in line {seen[key.value]} too. Keep one of them.")
        seen[key.value] = line
    return loader.construct_mapping(node, deep=True)


for _loader in (TextLoader, _Compiled):
    _loader.add_constructor(yaml.resolver.BaseResolver.DEFAULT_MAPPING_TAG, _map_once)


def yaml_of(text: str, where: str) -> Any:
    """The maps, lists and strings of a YAML text; ``where`` names it in a DataError."""
    with suppress(yaml.YAMLError, DataError):
        return yaml.load(text, Loader=_Compiled)  # noqa: S506  (a BaseLoader: builds strings, lists and maps only)
    try:
        return yaml.load(text, Loader=TextLoader)  # noqa: S506
    except DataError as error:
        raise DataError(f"{where}: {error}") from error
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        place = f"line {mark.line + 1}, column {mark.column + 1}" if mark else "somewhere"
        raise DataError(f"{where}: {place}: not YAML: {error.problem}. Mend that line.") from error
    except yaml.YAMLError as error:
        raise DataError(f"{where}: not YAML: {error}. Mend the file.") from error


def read_yaml(path: Path) -> Any:
    """The content of a YAML file, all scalars as text; DataError says what is wrong, where, and what to do."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise DataError(f"{path}: cannot be read ({error.strerror}). Put the file there.") from error
    except UnicodeDecodeError as error:
        raise DataError(f"{path}: not UTF-8 text. Save it as UTF-8.") from error
    return yaml_of(text, str(path))
