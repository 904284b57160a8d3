"""Answers about power: cords, breakers, generators and voltage for irons, with cautions that 29 CFR 1926 gives.

Figures are trade/power.py's. 8 A at 120 V, 100 ft of cord and four fifths of a breaker are common practice and said to
be; a site's own ``cord`` in its procedure takes their place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sitebot.acts import Act
from sitebot.message import Say
from sitebot.respond.desk import Answer, Desk
from sitebot.trade import power
from sitebot.trade.power import FT_M, Drop, Iron

#: Common practice, without a published source.
CORD_FT = 100.0
USUAL_AWG = 12
THINNEST_AWG = 16
BREAKER_SHARE = 0.8
GENERATOR_SHARE = 0.8
#: NFPA 70 210.19(A) note, advisory: 5 % lost at the farthest outlet.
LOST_SHARE = 0.05
#: An iron for 110-120 V still welds on these.
LEAST_V, MOST_V = 105.0, 130.0
IRON = Iron()


def answer(act: Act, desk: Desk) -> Answer:
    """What the supply does to the irons, or what irons need of a supply; what does not fit is said first, alone."""
    facts = act.facts
    volts = facts.get("volts")
    if volts is not None and (not LEAST_V <= volts <= MOST_V or _only_volts(facts)):
        return _voltage(facts, float(volts))
    found = [check(facts, desk) for named, check in CHECKS if any(facts.get(key) for key in named)]
    if _is_breaker(facts.get("breaker_a")):
        found.append(_breaker(facts))
    if not found and facts.get("irons"):
        return _irons(facts)
    if not found:
        limit, source = cord_limit(desk)
        return Answer(says=(Say("power.rule", {"limit": _length(limit, desk)}),), why=_why(source))
    unfit = [a for a in found if not a.facts["fits"]]
    return _joined(unfit[:1] or found[:2])


def _is_breaker(amps: float | None) -> bool:
    """Ten amperes and less in a question are what an iron draws, not a breaker."""
    return amps is not None and amps > 10


def _joined(answers: Sequence[Answer]) -> Answer:
    """Several checks as one answer."""
    facts = {key: value for a in reversed(answers) for key, value in a.facts.items()}
    why = {say.key: say for a in answers for say in a.why}
    return Answer(says=tuple(s for a in answers for s in a.says), why=tuple(why.values()), facts=facts)


def cord_limit(desk: Desk) -> tuple[float, str]:
    """The longest cord [ft] and, where it is the site's own, the paper it stands in."""
    own = desk.site.procedure.get("cord")
    found = re.search(r"(\d+(?:\.\d+)?)\s*(m|ft|')?", own.value) if own else None
    if own is None or found is None:
        return CORD_FT, ""
    return float(found[1]) / (FT_M if found[2] == "m" else 1), own.source


def _only_volts(facts: Mapping[str, Any]) -> bool:
    return not any(facts.get(k) for k in ("generator_w", "breaker_a", "cord_ft", "irons", "awg", "mm2"))


def _whole(value: float) -> int:
    return round(value)


def _voltage(facts: Mapping[str, Any], volts: float) -> Answer:
    rated = float(facts.get("iron_v") or IRON.rated_v)
    share = power.heat_share(volts, rated)
    values = {"volts": _whole(volts), "rated": _whole(rated), "percent": _whole(100 * share), "times": round(share, 1)}
    if share > 1.2:
        key = "power.too_many_volts"
    elif share < 0.76:
        key = "power.low_volts" if volts < LEAST_V else "power.wrong_iron"
    else:
        key = "power.volts_fit"
    return Answer(
        says=(Say(key, values),), why=(Say("power.why_volts", values),), facts={"heat_share": round(share, 3)}
    )


def _load(facts: Mapping[str, Any]) -> dict[str, object]:
    """Amps and watts of the irons at the voltage given (a resistive iron draws less on less)."""
    n = int(facts.get("irons") or 1)
    volts = float(facts.get("volts") or IRON.rated_v)
    amps = n * volts / IRON.ohm
    return {"irons": n, "amps": round(amps, 1), "watts": _whole(amps * volts), "volts": _whole(volts)}


def _irons(facts: Mapping[str, Any]) -> Answer:
    load = _load(facts)
    watts = float(str(load["watts"]))
    load["generator"] = _whole((watts / GENERATOR_SHARE + 99) // 100 * 100)
    key = "power.one_iron" if load["irons"] == 1 else "power.irons"
    return Answer(says=(Say(key, load),), why=(Say("power.why_load", load), *_why("")), facts=load)


def _breaker(facts: Mapping[str, Any]) -> Answer:
    breaker = float(facts["breaker_a"])
    load = _load(facts)
    carried = power.irons_carried(breaker, IRON.rated_a, BREAKER_SHARE)
    values = load | {"breaker": _whole(breaker), "carried": carried, "usable": _whole(breaker * BREAKER_SHARE)}
    amps = float(str(load["amps"]))
    if not facts.get("irons"):
        key = "power.breaker_carries"
    elif amps > breaker:
        key = "power.breaker_trips"
    else:
        key = "power.breaker_fits" if amps <= breaker * BREAKER_SHARE else "power.breaker_close"
    fits = key in ("power.breaker_carries", "power.breaker_fits")
    return Answer(
        says=(Say(key, values),), why=(Say("power.why_breaker", values), *_why("")), facts=values | {"fits": fits}
    )


def _generator(facts: Mapping[str, Any], desk: Desk) -> Answer:
    rated = float(facts["generator_w"])
    load = _load(facts)
    watts = float(str(load["watts"]))
    carried = power.irons_carried(rated, IRON.rated_w)
    values = load | {"generator": _whole(rated), "carried": carried, "spare": _whole(rated - watts)}
    if not facts.get("irons"):
        key = "power.generator_carries"
    elif watts > rated:
        key = "power.generator_too_small" if carried else "power.generator_none"
    else:
        key = "power.generator_fits" if watts <= rated * GENERATOR_SHARE else "power.generator_tight"
    fits = key in ("power.generator_carries", "power.generator_fits", "power.generator_tight")
    why = (Say("power.why_generator", values), *_why(""))
    return Answer(says=(Say(key, values),), why=why, facts=values | {"fits": fits})


def _wire(facts: Mapping[str, Any]) -> tuple[float, str]:
    """Cross-section [m2] and how it is named."""
    if facts.get("mm2"):
        return float(facts["mm2"]) * 1e-6, f"{float(facts['mm2']):g} mm2"
    awg = facts.get("awg")
    size = float(USUAL_AWG if awg is None else awg)
    return power.awg_area_m2(min(max(size, -3), 44)), f"{size:g} AWG"


def _cord(facts: Mapping[str, Any], desk: Desk) -> Answer:
    limit, source = cord_limit(desk)
    area, wire = _wire(facts)
    n = int(facts.get("irons") or 1)
    volts = float(facts.get("volts") or IRON.rated_v)
    length_ft = float(facts.get("cord_ft") or limit)
    found = power.drop(volts, length_ft * FT_M, area, IRON, n)
    longest = power.longest_cord_m(volts, area, (1 - LOST_SHARE) ** 2, IRON, n) / FT_M
    lengths = {"length": length_ft, "limit": limit, "longest": min(limit, longest // 5 * 5)}
    values = _cord_values(found, wire, n) | {name: _length(ft, desk) for name, ft in lengths.items()}
    key = _cord_verdict(facts, found, length_ft, limit, power.awg_of_area(area))
    figures = {"volts_at_iron": round(found.volts_at_iron, 1), "heat_share": round(found.heat_share, 3)}
    figures["fits"] = key in ("power.cord_size", "power.cord_fits", "power.cord_at_limit")
    return Answer(says=(Say(key, values),), why=(Say("power.why_cord", values), *_why(source)), facts=figures)


def _cord_values(found: Drop, wire: str, irons: int) -> dict[str, object]:
    return {
        "wire": wire,
        "irons": irons,
        "at_iron": _whole(found.volts_at_iron),
        "percent": _whole(100 * found.heat_share),
        "lost": round(100 * found.lost_share, 1),
        "amps": round(found.amps, 1),
    }


def _length(feet: float, desk: Desk) -> dict[str, str]:
    """A length as the site's papers count, with metres beside feet."""
    metres = f"{_whole(feet * FT_M)} m"
    if desk.site.units == "metric":
        return {"en": metres, "es": metres}
    return {"en": f"{_whole(feet)} ft ({metres})", "es": f"{_whole(feet)} pies ({metres})"}


def _cord_verdict(facts: Mapping[str, Any], found: Drop, length_ft: float, limit: float, awg: float) -> str:
    if length_ft > limit + 0.5:
        return "power.cord_too_long"
    if awg > THINNEST_AWG + 0.5:
        return "power.cord_too_thin"
    if found.lost_share > LOST_SHARE:
        return "power.cord_thin"
    if not facts.get("cord_ft"):
        return "power.cord_size"
    return "power.cord_at_limit" if length_ft > limit - 2.5 else "power.cord_fits"


def _why(source: str) -> tuple[Say, ...]:
    """Where the limits come from, and what safety rules add."""
    own = Say("power.source_site", {"source": source}) if source else Say("power.source")
    return own, Say("power.safety")


#: What is checked, by the facts that ask for it.
CHECKS: tuple[tuple[tuple[str, ...], Callable[[Mapping[str, Any], Desk], Answer]], ...] = (
    (("generator_w",), _generator),
    (("cord_ft", "awg", "mm2"), _cord),
)
