# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""The linear model that weighs which act a text is: one weight per feature and act, read from one packed file.

It only scores; thresholds and what follows from doubt are in choose.py. No library is needed to run it.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

#: How much a feature of each group counts; training and reading use the same.
GROUPS: Mapping[str, float] = {
    "w": 1.0, "b": 0.7, "t": 0.4, "c": 0.3, "k": 2.0, "q": 2.0, "o": 0.6, "p": 0.5, "r": 1.0, "rk": 1.0, "m": 1.0, "mk": 0.6, "l": 0.5, "end": 1.0, "n": 0.7,
}  # fmt: skip
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

    def scores(self, features: Iterable[str]) -> dict[str, float]:
        """A score for every act."""
        width = len(self.acts)
        sums = [0.0] * width
        for feature in features:
            at = self.index.get(feature)
            if at is not None:
                group = GROUPS[feature.split(" ", 1)[0]]
                row = self.weights[at * width : (at + 1) * width]
                for i, byte in enumerate(row):
                    if byte:
                        sums[i] += group * (byte if byte < 128 else byte - 256)
        return {act: s * self.scale + b for act, s, b in zip(self.acts, sums, self.bias, strict=True)}


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
