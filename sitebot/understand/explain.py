"""Why a text was read as it was: the findings of each station as rows of a table, for ``sitebot read --explain``."""

from __future__ import annotations

from sitebot.understand.choose import choose
from sitebot.understand.context import Context
from sitebot.understand.features import meanings
from sitebot.understand.leanings import leanings
from sitebot.understand.model import packed
from sitebot.understand.mood import is_planned, is_question, is_supposed
from sitebot.understand.reader import read, speller
from sitebot.understand.reading_marks import read_marks


def explain(text: str, context: Context) -> list[tuple[str, str]]:
    """(station, what it found), in the order of the road."""
    marks = read_marks(text, context.gazetteer, speller(packed()))
    choice = choose(marks, context, packed())
    reading = read(text, context)
    rows = [("words", " ".join(t.word for t in marks.tokens)), ("masked", marks.row()[0].strip())]
    rows += [(m.kind, f"{m.raw} = {m.value}{' ' + m.unit if m.unit else ''}") for m in marks.marks]
    rows.append(("mood", _mood(is_question(marks), is_supposed(marks), is_planned(marks))))
    rows.append(("meanings", ", ".join(dict.fromkeys(key for _, key in meanings(marks)))))
    rows += [("leaning", f"{act} +{weight:g}") for act, weight in leanings(marks, context).items()]
    rows += [("score", f"{act} {score:.2f}") for act, score in choice.ranked[:3]]
    rows += choice.why
    rows += [("act", f"{a.name} {dict(a.facts)}") for a in reading.acts]
    if reading.unclear is not None:
        rows.append(("unclear", f"{reading.unclear.about} {dict(reading.unclear.values)}"))
    return rows


def _mood(asks: bool, supposes: bool, plans: bool) -> str:
    return "asks" if asks else "supposes" if supposes else "plans" if plans else "tells"
