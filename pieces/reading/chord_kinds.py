"""Chord symbols between a teacher's writing ("Bbm7/F") and MusicXML's ``harmony``.

Source: MusicXML 4.0, ``kind-value``; the written suffixes are common practice.
"""

import re
from xml.etree import ElementTree

# Suffix as written, and the kind it names. The first suffix of a kind is the one given back
# where a file says no more than the kind.
_KINDS = (
    ("", "major"),
    ("maj", "major"),
    ("M", "major"),
    ("m", "minor"),
    ("min", "minor"),
    ("-", "minor"),
    ("aug", "augmented"),
    ("+", "augmented"),
    ("dim", "diminished"),
    ("°", "diminished"),
    ("7", "dominant"),
    ("maj7", "major-seventh"),
    ("M7", "major-seventh"),
    ("Δ", "major-seventh"),
    ("m7", "minor-seventh"),
    ("min7", "minor-seventh"),
    ("-7", "minor-seventh"),
    ("dim7", "diminished-seventh"),
    ("°7", "diminished-seventh"),
    ("aug7", "augmented-seventh"),
    ("7#5", "augmented-seventh"),
    ("m7b5", "half-diminished"),
    ("ø", "half-diminished"),
    ("ø7", "half-diminished"),
    ("mmaj7", "major-minor"),
    ("mM7", "major-minor"),
    ("m(maj7)", "major-minor"),
    ("6", "major-sixth"),
    ("m6", "minor-sixth"),
    ("9", "dominant-ninth"),
    ("maj9", "major-ninth"),
    ("m9", "minor-ninth"),
    ("11", "dominant-11th"),
    ("maj11", "major-11th"),
    ("m11", "minor-11th"),
    ("13", "dominant-13th"),
    ("maj13", "major-13th"),
    ("m13", "minor-13th"),
    ("sus2", "suspended-second"),
    ("sus4", "suspended-fourth"),
    ("sus", "suspended-fourth"),
    ("5", "power"),
)
KIND_OF = dict(_KINDS)
_SUFFIX_OF = {kind: suffix for suffix, kind in reversed(_KINDS)}
_SYMBOL = re.compile(r"([A-G])(##|bb|#|b)?([^/]*(?:/\d+)?)(?:/([A-G])(##|bb|#|b)?)?\Z")
_SIGN = {0: "", 1: "#", 2: "##", -1: "b", -2: "bb"}
_ALTER = {sign: alter for alter, sign in _SIGN.items()}


def symbol_of(harmony: ElementTree.Element) -> str:
    """The symbol a ``harmony`` element stands for; "" for "no chord" and for function names."""
    step = harmony.findtext("root/root-step")
    kind = harmony.find("kind")
    if step not in set("ABCDEFG") or kind is None:
        return ""
    name = (kind.text or "").strip()
    if name == "none":
        return ""
    symbol = step + _sign(harmony, "root/root-alter") + _suffix(kind, name, harmony.findall("degree"))
    bass = harmony.findtext("bass/bass-step")
    return symbol + (f"/{bass}{_sign(harmony, 'bass/bass-alter')}" if bass in set("ABCDEFG") else "")


def write_harmony(symbol: str) -> ElementTree.Element | None:
    """The ``harmony`` element of a symbol, None where it begins with no note name.

    >>> ElementTree.tostring(write_harmony("Bbm7").find("kind")).decode()
    '<kind text="m7">minor-seventh</kind>'
    """
    match = _SYMBOL.match(symbol)
    if not match:
        return None
    step, sign, suffix, bass, bass_sign = match.groups()
    harmony = ElementTree.Element("harmony")
    root = ElementTree.SubElement(harmony, "root")
    _write_note(root, "root", step, sign)
    kind = ElementTree.SubElement(harmony, "kind", {"text": suffix})
    kind.text = KIND_OF.get(suffix, "other")
    if bass:
        _write_note(ElementTree.SubElement(harmony, "bass"), "bass", bass, bass_sign)
    return harmony


def _write_note(parent: ElementTree.Element, name: str, step: str, sign: str | None) -> None:
    ElementTree.SubElement(parent, f"{name}-step").text = step
    if sign:
        ElementTree.SubElement(parent, f"{name}-alter").text = str(_ALTER[sign])


def _sign(harmony: ElementTree.Element, path: str) -> str:
    alter = round(float(harmony.findtext(path) or 0))
    return _SIGN.get(alter, "")


def _suffix(kind: ElementTree.Element, name: str, degrees: list[ElementTree.Element]) -> str:
    """How the quality is written: the file's own text where it agrees with the kind it names."""
    text = (kind.get("text") or "").strip().replace("♭", "b").replace("♯", "#")
    if kind.get("text") is not None and (KIND_OF.get(text) == name or name in ("other", "")):
        return text[:20]
    if name not in _SUFFIX_OF:
        return text[:20]
    return _SUFFIX_OF[name] + "".join(_degree(degree) for degree in degrees)


def _degree(degree: ElementTree.Element) -> str:
    value, sign = degree.findtext("degree-value") or "", _sign(degree, "degree-alter")
    kind = (degree.findtext("degree-type") or "").strip()
    if kind == "subtract" or not value.isdecimal():
        return ""
    return f"add{sign}{value}" if kind == "add" and not sign else f"{sign}{value}"
