# ruff: noqa: E501 - an expression is easier to keep whole
"""Texts that set right what was told, take it back, or tell a weld made a second time.

Only that they do; what is set right is told in facts/amends.py, what is made again in facts/work.py.
"""

from __future__ import annotations

import re

from sitebot.understand.facts import words
from sitebot.understand.facts.judged import splice_rows
from sitebot.understand.facts.verdicts import weighed
from sitebot.understand.marks import Text

NOT_THAT = re.compile(
    r"(<n>|<temp>|<iron>|<place>|<time>|<len>) ?,? ?(not|no|y no|instead of) (a |la |el |en |in |with |con |on |las )*(<n>|<temp>|<iron>|<place>|<time>|<len>)"
    r"| (was|is|era|fue|were|es) (a |an |the |la |una )?(?!reject|pass|fail|good|bad|fine)\S+ ,? ?(not|no|y no) (a |an |la |el |una )?(?!discussion|question|doubt|problem|buts)\S+ (?:[.!] )?$| (wasnt|was not|no era|no fue|is not) .{3,40} (it was|its|it is|era|fue|sino) | (no, sorry|no sorry|i meant|my mistake|my bad|in error|withdraw|oops|fat finger\w*|me equivoque|perdon|correccion|corrijo|should (read|be|list|say|have been)|shoulda been|debe decir|typed as|is really|are swapped|wrong (iron|wall|pour|place|number)|was recorded (as|with)|log says|entry (for|from)|actually|en realidad|mas bien|mejor dicho|quise (decir|poner)|corresponde a|la conte mal|puse mal|esta mal en|no (la|lo) cuentes?|correction|erratum|amend (?:to|no|splice|#|<n>)|amended|revise (?:that|it|the|my|splice)|flip|change (?:no|#|splice|<n>|it|that|the)|se me (fue|volteo|voltearon)) "
)
#: The end of a text that says what it was not: ", no Nando", ", no con el 2", ", no tope".
_ENDS_NOT = re.compile(
    r" (,|y|, y) (no|not) (fue |fueron |era |eran |es |son |con |en |de |a |el |la |los |las |un |una |the |an |on |at |with |by |iron )*[^ ,.]+( y \S+)?( (solo|sola|alone|vos|jefe|compa))?( [.!])* $"
)
TAKEN_BACK = re.compile(
    r" (take|taking|took|takin) (it |that |that one |<n> |# |no )*back | withdraw\w* | (tomo|retiro|echo|quito) .*(de vuelta|atras|lo dicho|mi) "
)


def sets_right(text: Text) -> bool:
    """Says one thing and not the other, as a correction does."""
    row = text.row()[0]
    return (
        bool(NOT_THAT.search(row))
        or any(words.says(key, row) for key in ("not_mine", "lifts", "right_is", "own_mistake", "kind_not_kind"))
        or (bool(_ENDS_NOT.search(row)) and _is_of_record(text, row))
    )


def _is_of_record(text: Text, row: str) -> bool:
    """One splice or the last entry, and how it was made; no verdict and no list of what was done."""
    named = splice_rows(text)
    one = (len(named) >= 1 and named[0].signed) or text.has("last_one") or words.says("of_count", row)
    said = {k for _, k in weighed(row)} & {"accept", "reject", "poor"}
    done = any(text.has(k) for k in ("fix", "verb.made", "made")) or any(
        words.says(k, row) for k in ("did_he", "did_i")
    )
    return bool(one and not said) and (done or bool(re.search(r" (es|son|va|van|is|are|was|were) ", row)))


def is_again(text: Text, row: str) -> bool:
    """Said to be made a second time."""
    return (words.says("again_told", row) or text.has("verb.rework")) and not words.says("again_later", row)
