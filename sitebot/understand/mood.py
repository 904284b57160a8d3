# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""How a text is meant: asked, told, planned, supposed, or said of somebody else's work."""

from __future__ import annotations

import re

from sitebot.understand.clauses import part, sentences
from sitebot.understand.facts import words
from sitebot.understand.marks import Text

#: A sentence that begins like this asks, even without a question mark.
_OPENS = re.compile(
    r"^ ?(hey |so |ok |and |boss |yo |hi |oye |oiga |compa |jefe |bro |parce |tio |, |y |pero |but )*"
    r"(is|are|am|do|does|should|shall|can|could|may|might|would|will|what|which|who|whose|when|where|why|how|any|anything|anybody|has|have (we|they|you|i|<n>)|was (it|that|i)|were (we|they)|whatabout|"
    r"did (we|it|i|he|she|they|anybody|anyone|you|<n>|the|that)|what is|how (many|much|long|hot|fat|early|far)|tell me|remind me (what|how|of)|need the|gimme the|give me the (count|number)|"
    r"que|cual|cuales|cuanto|cuanta|cuantos|cuantas|como|quien|quienes|cuando|donde|por que|a cuanto|a cuantos|a que|de que|con que|con cuanta|se puede|se vale|puedo|podemos|podre|sirve|hay que|alcanza|"
    r"me das|en que|en cuanto|sale bien|dime|digame|ya (puedo|podemos|se puede|revisaron|aceptaron|mero|pasamos)|es (normal|cierto|obligatorio|aceptable)|me puedo|i can touch|ok to|okay to|ok (if|we)|la extension .*sirve)\b"
)
#: Words inside or at the end that ask.
_TAGS = re.compile(
    r" (in or out|out or in|good or bad|good or no good|pass or fail|keep or (cut|toss)|go or no go|pasa o no|pasa o no pasa|buena o mala|bueno o malo|dentro o fuera|"
    r"or (no|not|nah|naw|what|do i|still|should i|wait|keep|cut|is it|do we)|right|yeah|ya|eh|agree|correct|cool|good to go|we good|am i right|yay or nay|o no|o que|verdad|vdd|no es cierto|va|"
    r"ok|okay|fine|good|gtg|allowed|done|go|still ok|leave it|keep it|toss it|enough|close enough|lo dejo|la dejo|la tumbo|le doy|le damos|le entro|empezamos|empiezo|jalamos|sirve|alcanza|como (ves|ven)|confirmas|dictamen|verdict|call|"
    r"cada (end|punta|lado)|(ya )?(se puede|puedo|podemos|se le da|le entro|le entramos|soldamos)|can (i |we )?(start|begin|weld|go|roll)|pasa|conforme|how|cut|corte|angles please|what now) $"
)
_INSIDE = re.compile(
    r" (what do (i|we|they)|what to do|how do (i|we|they|you)|how should (i|we)|do (i|we) (need|have|even|still|gotta)|should (i|we|it)|is that|is this|is it|are we|am i|is he right|does it|does that|what (is|are|was|would|angle|wall|temp|size|happened|else|temperature)|how (many|much|long|far|hot|deep|bad|strong)|"
    r"que (hago|hacemos|le pongo|corte|cortes|temp|calibre|angulo|dice|dices|opina|tanto|tan|plancha|inglete)|a cuanto|cuanto (le|es|tiempo|va|por|hay|marco|inclino|acuesto|cada|mas)|cuantos? |cuantas |como (le hago|lo corto|le meto|la corto|se corta|van los|voy)|en que quedo|quien (soldo|hizo|tiene)|"
    r"tell me (it|if|no|the|i)|can i|can we|could we|may i|will (it|he|they|that)|would (the|it|that|you)|what if|let me know|any law|is there|out of the question|confirm|please confirm|or do i|puedo|podemos|se puede|sera que|o me la|i need an answer|talk me out|hay (bronca|roche|riesgo|que)|le pasa algo|"
    r"whose|hot enough|wait or|keep going or|(can|will|could) (she|he|it|they)|a time (i|we) can|ready yet|look up|read me back|list of|status|number for|tell him|does anybody|has (anybody|every)|did (it|he|she|they|we|that)|que falta|q le falta|que le falta|falta algo|todo en orden) "
)
#: Sentences that look like questions and tell.
_TELLS = re.compile(
    r"^ ?(can you (log|put|add|mark)|would you (log|put|void|mark)|will (redo|do|be)|who welded these|is mistake|que se (rehaga|cuele)|cuando terminen|will you|can (u|you) (log|put)|hey this is|what a)\b"
    r"|^ ?did (the|a|an|another|both|all) (\w+ )?(butts?|tees?|corners?|cross|crosses|wyes?|splices?|welds?|rest|last one)( (on|at|in|by) (the )?<place>)?( (too|already|now|today))? ([.] )?$"
    r"|^ ?(could|can|would|did|does|do|is|was|has|have|will) not (?!we |you |i |they |it |he |she |that |this |the |a |an |there |my |our |<|y |us |u )"
)


def is_question(text: Text) -> bool:
    """Whether the text asks, with or without a question mark."""
    return any(_asks(part(text, s, e), e < len(text.tokens) and text.word(e) == "?") for s, e in sentences(text))


#: "1 2 3 good": from who may judge it is a verdict, from others a question without its mark.
_JUDGED = re.compile(
    r"^ ((<n>|<range>|<place>|,|and|y|e|el|la|los|las|all|both|is|are|look|looks|too|#|no|number|splice|on|in|the|todo|estan|esta|se ve|ok|then) )+"
    r"(good|ok|okay|fine|pasa|pasan|conforme|conformes) (too |then |now |here |also |again |tambien )?$"
)


def is_judged_only(text: Text) -> bool:
    """Every sentence that looks like a question is splices and one word of a verdict, and no question mark stands in it."""
    if any(t.raw in ("?", "\u00bf") for t in text.tokens):
        return False
    asking = [part(text, s, e) for s, e in sentences(text) if _asks(part(text, s, e), False)]
    return all(_JUDGED.match(piece.row()[0]) or _is_sentence(piece.row()[0]) for piece in asking)


#: What the inspector says of a splice, and what only sounds like a question from others: "ya rehecho pasa", "hay que cortarlo".
_RULED = re.compile(
    r" (ok|okay|fine|good|go|pasa|pasan|conforme|conformes|sirve) ([.!] )*$"
    r"|(^|[.,;:]|y|pero| por eso| asi que) ?hay que (cortar|repetir|rehacer|quitar|tumbar|sacar)\w*"
)


def _is_sentence(row: str) -> bool:
    """A sentence of a verdict that no word of asking opens."""
    bare = _RULED.sub(" ", row)
    return bare != row and not (_OPENS.match(bare) or _INSIDE.search(f"{bare} "))


#: "sample good": of a sample this is how it came out.
_OUTCOME = re.compile(r" (ok|okay|fine|good|go|done|pasa|conforme|sirve) $")


#: "put it down as accepted, would you": behind what is bidden it asks nothing.
_POLITE = re.compile(r" ,? ?(would|will|could|can) you( please)? ([.] )?$")


def _asks(text: Text, marked: bool) -> bool:
    row = _POLITE.sub(" ", text.row()[0])
    if _TELLS.match(row):
        return False
    if marked or _OPENS.match(row) or _INSIDE.search(row):
        return True
    if text.spanish and row.endswith(" ya "):
        return False
    return bool(_TAGS.search(row)) and not (_OUTCOME.search(row) and text.has("sample"))


def told_sentences(text: Text) -> list[tuple[int, int]]:
    """The sentences that do not ask."""
    return [
        (s, e) for s, e in sentences(text) if not _asks(part(text, s, e), e < len(text.tokens) and text.word(e) == "?")
    ]


def is_supposed(text: Text) -> bool:
    """A hypothesis."""
    return words.says("supposed", text.row()[0]) or is_conditional(text)


#: "si el 83 abre lo rechazo"; "sí pasan" and "15 si" affirm.
_CONDITION = re.compile(
    r"(?:^|[.,;:]| y| pero| entonces| que| pues) si (el|la|los|las|se|no|hay|me|le|les|lo|trae|abre|sale|tiene|esta|queda|<n>|<iron>|<range>|alguno|alguna|uno|una) "
)


_IF = re.compile(
    r" ((?<! see)(?<! know)(?<! ask)(?<! check)(?<! as) if|(might|may|could|would) (reject|fail|pass|accept|be)) "
)


def is_conditional(text: Text) -> bool:
    """Only under a condition, or only possible."""
    if _IF.search(text.row()[0]):
        return True
    said = any(t.word == "si" and "\u00ed" not in t.raw.lower() for t in text.tokens)
    return said and bool(_CONDITION.search(text.row()[0]))


def is_planned(text: Text) -> bool:
    """Wanted, planned or not finished."""
    return words.says("planned", words.pattern("left_as").sub("", text.row()[0]))
