# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Which joint a question of cuts speaks of, and in which plane it turns. Angles are told in cuts.py."""

from __future__ import annotations

import re

from sitebot.understand.facts import words
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.marks import Text

#: Words of a turn near an angle.
TURN_NEAR = re.compile(
    r"( |^)(turn|turns|turned|turning|kick|kicks|deflection|deflecting|deflects|deflect|bend|bends|bent|bending|jog|kink|climbs|climb|goes up|rises|drops|veers|giro|gira|vuelta|quiebre|quiebra|quiebro|dobla|doblez|deflexion|sube|baja|levanta|doblando|slope|desvio|desvia)( |$)"
)

_PLANE = (
    (
        "compound",
        re.compile(
            r" (compound|compuesto|at the same (time|spot|joint)|turns and (drops|climbs|goes)|both ways|al mismo tiempo|in plane plus|out of plane) "
        ),
    ),
    (
        "edge",
        re.compile(
            r" (on edge|on its edge|edge|edge turn|up the wall|straight up the|easy way|stand up|stands up|standing|upstand|upright|vertical|climbs|ramp|slope|bends up|de canto|canto|por lo facil|lo facil|parada|parado|talud|rampa|al muro|over the hump|goes up|on da edge) "
        ),
    ),
    (
        "flat",
        re.compile(
            r" (flat|lying flat|laying flat|lays flat|laid flat|in plan|in plane|hard way|web flat|en planta|en plano|plana|planas|plano de la banda|giro plano|en plano|todo plano|acostad[oa]s?|echad\w+|tumbad[oa]s?|recostada|plane of the web|in the plane) "
        ),
    ),
)


def joint_of(text: Text, row: str) -> str:
    kinds = {k.kind for k in named_kinds(text)}
    legs = re.search(r" (legs?|patas|ramas|three pieces|three way|3 way|tres ramas) ", row)
    if (
        re.search(r" (cross each other|walls cross|se cruzan|four way|4 way|plus sign|skewed cross) ", row)
        or "cross" in kinds
    ):
        return "cross" if not ("tee" in kinds and row.find(" te") < row.find(" cr") and row.find(" te") >= 0) else "tee"
    if (
        "wye" in kinds
        or re.search(r" (peace sign|3 way|three way|wye|y joint|three legs|tres patas|tres ramas) ", row)
        or re.match(r" y (con|pareja|rara|de|chueca|normal|abierta) ", row)
    ):
        return "wye"
    if "tee" in kinds or re.search(r" (branch|ramal|rama|forks off) ", row):
        return "tee"
    if legs and re.search(r" (apart|even|entre si) ", row):
        return "wye"
    if (
        (
            re.search(
                r" (straight run|straight joint|straight but well|butt|derecho con derecho|is that straight|dead square|straight splice|recto con recto|tope) ",
                row,
            )
            or words.says("asks_straight", row)
        )
        and not TURN_NEAR.search(row.replace("straight", ""))
        and not re.search(r" (goes straight|off straight|branch) ", row)
    ):
        return "straight"
    return "turn"


def _each_its_own(row: str) -> bool:
    """ "30 flat + 15 edge": two angles, and behind each its own plane."""
    behind = re.split(r"<n>|<ang>|<temp>", row)[1:3]
    told = [min(((m.start(), name) for name, e in _PLANE[1:] if (m := e.search(b))), default=(0, "")) for b in behind]
    return {name for _, name in told} == {"flat", "edge"}


def plane_of(row: str, text: Text) -> str:
    hits = {}
    denied = re.sub(r" not (flat|edge|on edge)( <\w+>)?| no plana| no de canto", " ", row)
    for name, expression in _PLANE:
        match = expression.search(denied)
        if match:
            hits[name] = match.start()
    if "compound" in hits or _each_its_own(row):
        return "compound"
    if len(hits) == 2 and re.search(
        r" flat <(n|ang)> (and|n|y) .*(climb|up|edge|drops|rises)| (turns|gira) .*(flat|planta|plano).* (climbs|sube|levanta|up)",
        row,
    ):
        return "compound"
    if (
        "edge" in hits
        and "flat" in hits
        and re.search(
            r" (up the wall|straight up|goes up|slope|easy way|talud|al muro|bends up|lo facil|stand up|climbs|sube) ",
            row,
        )
    ):
        return "edge"
    if "edge" in hits and "flat" in hits:
        return "flat" if hits["flat"] < hits["edge"] else "edge"
    return next(iter(hits), "unknown")
