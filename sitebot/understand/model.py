# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""The linear model that weighs which act a text is: one weight per feature and act, read from one packed file.

It only scores; thresholds and what follows from doubt are in choose.py. No library is needed to run it.
"""

from __future__ import annotations

import gzip
import json
import struct
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

#: How much a feature of each group counts; training and reading use the same.
GROUPS: Mapping[str, float] = {
    "w": 1.0, "b": 0.7, "t": 0.4, "c": 0.3, "k": 2.0, "q": 2.0, "o": 0.6, "p": 0.5, "r": 1.0, "rk": 1.0, "m": 1.0, "mk": 0.6, "l": 0.5, "end": 1.0, "n": 0.7,
}  # fmt: skip
_TENTHS = 10
_SHARES = {group: round(weight * _TENTHS) for group, weight in GROUPS.items()}
#: Signed bytes moved up by 128, so that fields never borrow from one another.
_UNSIGNED = bytes((byte + 128) % 256 for byte in range(256))
PACKED = Path(__file__).with_name("weights.json.gz")


@dataclass(frozen=True, slots=True)
class Linear:
    """Weights as signed bytes, one row of acts per feature."""

    acts: tuple[str, ...]
    index: Mapping[str, int]
    weights: bytes
    scale: float
    bias: tuple[float, ...]
    #: Words the labelled messages use more than once: known, so not to be mended.
    words: tuple[str, ...] = ()

    #: Rows as one long number each, a field of four bytes per act: adding two rows is one addition.
    _rows: dict[int, int] = field(default_factory=dict, compare=False)

    def scores(self, features: Iterable[str]) -> dict[str, float]:
        """A score for every act."""
        total, shares = 0, 0
        for feature in features:
            at = self.index.get(feature)
            if at is not None:
                share = _SHARES[feature.split(" ", 1)[0]]
                total += share * (self._rows.get(at) or self._widened(at))
                shares += share
        width = len(self.acts)
        sums = struct.unpack(f"<{width}I", total.to_bytes(4 * width, "little"))
        return {
            act: (s - 128 * shares) / _TENTHS * self.scale + b
            for act, s, b in zip(self.acts, sums, self.bias, strict=True)
        }

    def _widened(self, at: int) -> int:
        width = len(self.acts)
        fields = bytearray(4 * width)
        fields[::4] = self.weights[at * width : (at + 1) * width].translate(_UNSIGNED)
        self._rows[at] = int.from_bytes(fields, "little")
        return self._rows[at]


@cache
def packed() -> Linear:
    """The trained model that comes with the package."""
    data = json.loads(gzip.decompress(PACKED.read_bytes()))
    return Linear(
        tuple(data["acts"]),
        {name: i for i, name in enumerate(data["features"])},
        bytes.fromhex(data["weights"]),
        data["scale"],
        tuple(data["bias"]),
        tuple(data["words"]),
    )


def pack(model: Linear, path: Path = PACKED) -> None:
    """Write a model so that the same model gives the same bytes."""
    names = sorted(model.index, key=model.index.__getitem__)
    data = {
        "acts": model.acts,
        "features": names,
        "weights": model.weights.hex(),
        "scale": model.scale,
        "bias": model.bias,
        "words": model.words,
    }
    path.write_bytes(gzip.compress(json.dumps(data).encode(), 9, mtime=0))
