"""Words of free lines that are neither a name nor a figure: list marks, emphasis, fillers, spoken numbers.

What people write around their sets (`then`, `finished with`, `worked up to`, `**bold**`) is taken away, what
they say in words (`three sets`, `second set`) is put into the figures a notation knows.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from pipeline.clean.cells.folding import fold
from pipeline.clean.headers import parse_side

_BULLET = re.compile(r"^[\s>*•·‣▪◦#-]*(?:\[[ xX✓✔]?\]\s*)?(?:\d{1,2}[.)]\s+)?")
_EQUALS = re.compile(r"^([^\W\d][^=\d]{2,40}?) = (?=\d)")  # Deadlift = 120kg
_BOLD = re.compile(r"(\*\*|__|~~|`)(?=\S)(.+?)(?<=\S)\1")
_ITALIC = re.compile(r"(?<![\w*])([*_])(?=[^\W\d_])([^*_\n]+?)(?<=\S)\1(?![\w*])")

_REPS = r"reps?|wdh|wiederholungen|r[ée]p[ée]titions?|repeticiones|ripetizioni|herhalingen|repeti[cç][oõ]es"
_COUNT_NOUN = rf"(?:sets?|s[äa]tzen?|s[ée]ries?|{_REPS})\b"
_PAIR = r"(?<![\d.,])\d{1,4}(?:[.,]\d{1,2})? ?(?:kgs?|lbs?|kilos?|pounds?)? ?(?:[x×*@]|for(?= )) ?\d"
SET_LIKE = re.compile(r"\d ?(?:kgs?|lbs?)?\s*[x×*@]\s*\d|\d\s*(?:kgs?|lbs?)\b", re.IGNORECASE)
_LOAD_AND_LIST = r"\d ?(?:kgs?|lbs?)[:,]? \d{1,2}(?: ?[,/] ?\d{1,2})+"
_SURELY_SETS = re.compile(
    rf"{_PAIR}|{_LOAD_AND_LIST}|\d ?{_COUNT_NOUN}|\b(?:single|double|triple)s? (?:at|@|with|of) \d",
    re.IGNORECASE,
)
_FOR_SETS = re.compile(
    r"\s+(?:for|für|fuer|pour|por|per|voor)\s+(?=\d{1,2} ?(?:sets?|s[äa]tze|s[ée]ries?|rounds?|[x×] ?\d))",
    re.IGNORECASE,
)
_TIME = r"\d+(?:[:.,]\d+)? ?(?:min(?:utes?|s)?|minuten|sec(?:onds?|s)?|sek(?:unden)?|s|['’])(?![a-z])"
_RESTED = (
    r"(?:rest(?:ed|ing)?|pausen?|breaks?|repos|r[ée]cup(?:[ée]ration)?|descansos?|pausa|riposo|recupero|rust)"
    r"(?: (?:between|zwischen|entre|tra|tussen)(?: the| den| les)? \w+)?"
)
_REST = re.compile(rf"[\s,;(]*(?:\b{_TIME} (?:of )?{_RESTED}\b|\b{_RESTED}:? {_TIME})\)?", re.IGNORECASE)
_SETS_WITH = re.compile(
    rf"(\d{{1,2}} ?(?:sets?|s[äa]tzen?|s[ée]ries?)) (?:with|mit|con|avec|met|com|at)"
    rf"(?: je| jeweils)? (?=\d{{1,3}} ?(?:{_REPS})\b)",
    re.IGNORECASE,
)
_ANOTHER_DAY = re.compile(
    r"\b(?:next|last (?:time|week|month|year|session|workout)|yesterday|tomorrow|goal|target|plan(?:ned)?"
    r"|aim\w*|want\w*|try|tried|should|could|instead of|than|vs|pb|pr"
    r"|naechst\w*|nachst\w*|letzt\w*|ziel|geplant|statt|prochaine?|derniere?|objectif|proxim[ao]|ultim[ao]|objetivo"
    r"|prossim[ao]|obiettivo|volgende|vorige|doel|meta)\b"
)

_STARTERS = (
    r"(?:super ?-?sets?|giant set|circuit|zirkel|circuito|supersatz|superserie)\s*:?",
    r"(?:and |und |et |y |e |en )?(?:i |we |ich |wir |ik )?"
    r"(?:finished(?: off| up)?|ended|started(?: off)?|began|opened|closed|continued|carried on|followed(?: it)?(?: up)?"
    r"|angefangen|begonnen|weiter|abgeschlossen|geendet|fini|termin[ée]|commenc[ée]|continu[ée]|encha[iî]n[ée]"
    r"|termin[ée]|acab[ée]|empec[ée]|segu[ií]|finito|iniziato|cominciato|continuato|afgesloten|geëindigd|verder"
    r"|terminei|acabei|comecei|continuei)\s+(?:with|by|mit|avec|par|con|met|com)",
    r"(?:moved|went|switched|changed) (?:on )?to",
    r"(?:i |we )?(?:did|hit|got|made)",
    r"after ?(?:that|wards?)|afterwards|then|next up|next|first(?:ly)?|lastly|finally|also|today|again|followed by",
    r"to finish|to start",
    r"(?:habe |hab )?ich|danach|dann|anschlie(?:ß|ss)end|zuerst|zuletzt|zum (?:schluss|abschluss|ende)|heute|auch|noch",
    r"(?:j['’]ai )?fait|puis|ensuite|apr[èe]s(?: [çc]a)?|d['’]abord|aujourd['’]hui|pour finir|enfin",
    r"hice|luego|despu[ée]s|primero|hoy|por [úu]ltimo|para terminar",
    r"(?:ho )?fatto|poi|dopo|prima|oggi|infine|per finire",
    r"(?:ik )?deed|toen|daarna|eerst|vandaag|tot slot|als laatste",
    r"fiz|depois|primeiro|hoje|por fim|para terminar",
    r"and|und|et|plus|some|a few|ein paar|i|we|wir|ik|y|e|en",
)
_STARTER = re.compile(r"^(?:" + "|".join(_STARTERS) + r")(?:\s*[:,–—-]\s*|\s+)", re.IGNORECASE)
_ENDERS = re.compile(
    r"[\s,]+(?:today|again|heute|wieder|aujourd['’]hui|hoy|oggi|vandaag|hoje|just|only|nur|with|mit|avec|con|met|com|at|did|was|were"
    r"|for|gemacht|i did|i got|done)$",
    re.IGNORECASE,
)
_UP_TO = re.compile(
    r"(?:\bthen )?\b(?:(?:worked|built|ramped|went|moved|pyramided|topped)(?: my way)?(?: it)?"
    r" (?:up|out) (?:to|at)|up to|hochgearbeitet (?:bis|auf)|gesteigert (?:bis|auf)|bis auf"
    r"|mont[ée] (?:jusqu['’])?[àa]|jusqu['’][àa]|sub[ií] (?:hasta|a)|subiendo (?:hasta|a)"
    r"|salito (?:fino )?a|opgebouwd (?:naar|tot)|subi at[ée])\s+(?=\d)",
    re.IGNORECASE,
)
_ORDINAL = re.compile(
    r"[\s,;.]*\b(?:and |und |et |y |e |en |then |dann )?(?:on )?(?:the |my |der |die |das |la |le |el |il |de |a )?"
    r"(?:first|second|third|fourth|fifth|sixth|1st|2nd|3rd|4th|5th|6th|last|final|erste[rn]?|zweite[rn]?|dritte[rn]?|vierte[rn]?"
    r"|fünfte[rn]?|letzte[rn]?|premi[èe]re|deuxi[èe]me|seconde|troisi[èe]me|quatri[èe]me|derni[èe]re|primera|segunda|tercera|cuarta"
    r"|[úu]ltima|prima|seconda|terza|quarta|eerste|tweede|derde|vierde|laatste|primeira|terceira)"
    r" (?:work(?:ing)? )?(?:set|one|satz|s[ée]rie)(?: was| at| with| war| mit)?"
    r"\s*[:,–—-]?\s+(?=\d+(?:[.,]\d+)? ?(?:kgs?|kilos?|lbs?|pounds?|x|×|@|for\b)|bw\b)",
    re.IGNORECASE,
)
_UNITS = {
    word: number
    for number, words in enumerate(
        (
            "one ein eine einen un une uno una um uma een één",
            "two zwei deux dos due twee dois duas",
            "three drei trois tres tre drie três",
            "four vier quatre cuatro quattro quatro",
            "five fünf fuenf cinq cinco cinque vijf",
            "six sechs seis sei zes",
            "seven sieben sept siete sette zeven sete",
            "eight acht huit ocho otto oito",
            "nine neun neuf nueve nove negen",
            "ten zehn dix diez dieci tien dez",
            "eleven elf onze once undici",
            "twelve zwölf zwoelf douze doce dodici twaalf doze",
        ),
        start=1,
    )
    for word in words.split()
}
_TENS = (
    "fifteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred|fünfzehn|zwanzig|dreißig|dreissig|vierzig|fünfzig|sechzig"
    "|siebzig|achtzig|neunzig|hundert|quinze|vingt|trente|quarante|cinquante|soixante|cent|veinte|treinta|cuarenta|cincuenta|sesenta"
    "|setenta|ochenta|noventa|cien|venti|trenta|quaranta|cinquanta|sessanta|settanta|ottanta|novanta|cento|twintig|dertig|veertig"
    "|vijftig|zestig|zeventig|tachtig|negentig|honderd|vinte|trinta|quarenta|cinquenta|sessenta|oitenta|noventa|cem"
)
_COUNT_WORD = re.compile(
    rf"\b({'|'.join(sorted(_UNITS, key=len, reverse=True))})(?= {_COUNT_NOUN})", re.IGNORECASE
)
_SPOKEN = re.compile(
    rf"\b(?:{'|'.join(_UNITS)}|{_TENS})(?:[ -](?:and |und )?(?:{'|'.join(_UNITS)}|{_TENS}|a half))*"
    rf" (?:kilos?|kgs?|kilogram\w*|pounds?|lbs?|livres|libras|{_COUNT_NOUN})",
    re.IGNORECASE,
)
_CORRECTS = re.compile(
    r"\b(?:sorry|oops|whoops|typo|correction|corrected|mistake|meant|should(?:'?ve| have)? (?:be|been|say|read)"
    r"|wrote .* wrong"
    r"|korrektur|korrigier\w*|vertippt|tippfehler|verschrieben|sollte\w* .*sein|meinte|falsch eingetragen"
    r"|erreur|corrige|je voulais dire|perdon|correccion|error|quise decir|queria decir"
    r"|scusa\w*|errore|correzione|volevo dire"
    r"|foutje|tikfout|correctie|moet\w* .*zijn|bedoelde|desculp\w*|correcao|quis dizer)\b"
    r"|\b\d+(?:[.,]\d+)? ?(?:kgs?|lbs?)? ?,? (?:not|nicht|statt|instead of|pas|et non|non|en lugar de"
    r"|invece di|niet|in plaats van|nao|em vez de) \d"
    r"|\b(?:not|nicht) \d+(?:[.,]\d+)? ?(?:kgs?|lbs?)? ?,? (?:but|sondern) \d"
)


def plain_line(raw: str) -> str:
    """A line without the marks of lists, quotes, headings and emphasis."""
    text = raw.strip()
    for _ in range(2):
        text = _ITALIC.sub(r"\2", _BOLD.sub(r"\2", text))
    return _EQUALS.sub(r"\1: ", _BULLET.sub("", text, count=1).strip())


def is_unticked(raw: str) -> bool:
    """`- [ ] Squat 3x5`: a box nobody has ticked."""
    return re.match(r"^\s*[-*•]?\s*\[ ?\]\s", raw) is not None


def is_ticked(raw: str) -> bool:
    """`- [x] Squat 3x5`."""
    return re.match(r"^\s*[-*•]?\s*\[[xX✓✔]\]\s", raw) is not None


def without_starters(text: str) -> str:
    """A text without the words that lead to what was done (`then did squats 3x5` → `squats 3x5`)."""
    while match := _STARTER.match(text):
        text = text[match.end() :].lstrip(" :–—,;.")
    return text


def bare_name(text: str) -> str:
    """What is left of a name without the words around it (`then bench press` → `bench press`)."""
    name = without_starters(text.strip(" :-–—,;.")).rstrip(" :-–—,;.")
    while match := _ENDERS.search(name):
        name = name[: match.start()].strip(" :-–—,;.")
    return name


def with_figures(text: str) -> str:
    """`three sets` → `3 sets`, `first set 80 kg …, second set …` and `worked up to 100` without the words."""
    if re.search(r"\d", text):
        text = _COUNT_WORD.sub(lambda match: str(_UNITS[match.group(1).lower()]), text)
    text = _SETS_WITH.sub(r"\1 de ", _FOR_SETS.sub(" ", _UP_TO.sub("", text)))
    told = _ORDINAL.sub(lambda match: ", " if _follows_figure(text, match.start()) else " ", text)
    return re.sub(r"([:–—-]) *[,;] ", r"\1 ", told).strip()


def _follows_figure(text: str, place: int) -> bool:
    return re.search(r"\d", text[:place]) is not None


def without_rest(text: str) -> tuple[str, str]:
    """A line without what it says of the rest between sets (`2 min rest`), and those words."""
    said = [match.group().strip(" ,;") for match in _REST.finditer(text)]
    return _REST.sub(", ", text).strip(" ,;"), ", ".join(said)


def spoken_figures(text: str) -> re.Match[str] | None:
    """`fifty kilos eight reps`: figures as words, heard rather than written; nobody can be sure of them."""
    return _SPOKEN.search(text)


def holds_sets(text: str) -> bool:
    """True where a text holds figures as a set has them (`60x8`, `3 sets`), read or not."""
    return _SURELY_SETS.search(text) is not None


_CLOCK = r"(?:[01]?\d|2[0-3])[:.h][0-5]\d(?: ?(?:am|pm|h|uhr))?"
_CLOCK_TIME = re.compile(
    rf"(?:(?:time|start|end|from|von|zeit|heure|hora) ?:? ?)?{_CLOCK} ?(?:-|to|bis|until) ?{_CLOCK}"
)


def is_clock_time(text: str) -> bool:
    """`18:30 - 19:45`: from when to when somebody trained."""
    return _CLOCK_TIME.fullmatch(fold(text).strip(" .()")) is not None


_WROTE = re.compile(
    r"(?:on|am|le|el|il|op|em) .*\d.* (?:wrote|schrieb.*|a ecrit|escribio|ha scritto|schreef.*|escreveu) ?:"
)


def is_quoted_from(text: str) -> bool:
    """`On 30 Oct 2026 Coach wrote:`: what follows behind `>` are somebody else's words."""
    return len(text) < 120 and _WROTE.fullmatch(fold(text)) is not None


_LABELLED = re.compile(r"(?P<label>[A-Za-zÀ-ÿ][A-Za-zÀ-ÿ ]{1,20}?)\s*[:=]\s*(?P<said>.*\d.*)")


def side_of_line(text: str) -> tuple[str, str]:
    """`Plan: 3x8 65kg` and `Did: 60kg x 8, 8, 7`: the side and what is said on it; empty texts for any other."""
    match = _LABELLED.fullmatch(text)
    side, others = parse_side(match["label"]) if match else ("", "")
    return (side, match["said"]) if match and side and not others else ("", "")


_AGAIN = re.compile(r"^(?:same|ditto|idem)(?: weight| load)?(?=\s*[x×*]\s*\d)", re.IGNORECASE)


def with_load_again(text: str, before: Mapping[str, object]) -> str:
    """`same x 7` with the load of the set before it."""
    load = before.get("load_text")
    return _AGAIN.sub(str(load), text) if load and not before.get("problem") else text


def speaks_of_another_day(text: str) -> bool:
    """`next time 85x5`, `last week 3x5`: figures of another day or of a plan."""
    return _ANOTHER_DAY.search(fold(text)) is not None


def is_correction(text: str) -> bool:
    """`sorry, bench was 85 not 80`: a line about figures that stand elsewhere."""
    return re.search(r"\d", text) is not None and _CORRECTS.search(fold(text)) is not None
