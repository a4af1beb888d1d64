"""Words and small shapes that every template needs."""

from django import template
from django.urls import reverse
from django.utils.safestring import mark_safe

register = template.Library()

ROOMS = (
    ("overview", "Overview"),
    ("lesson_list", "Lessons"),
    ("piece_list", "Pieces"),
    ("student_list", "Learners"),
    ("handout_list", "Handouts"),
)


@register.simple_tag
def rooms(request):
    """The teacher's five rooms as links; ``here`` marks the one the page belongs to."""
    links = []
    for name, word in ROOMS:
        address = reverse(name)
        links.append({"address": address, "word": word, "here": request.path.startswith(address)})
    return links


@register.filter
def day_in_full(day):
    """Thursday 19 March, without a leading zero on any platform."""
    return f"{day:%A} {day.day} {day:%B}" if day else ""


@register.filter
def short_day(day):
    """Thu 19 March."""
    return f"{day:%a} {day.day} {day:%B}" if day else ""


@register.filter
def clock(time):
    """4:30, as a lesson time is said."""
    return f"{time.hour % 12 or 12}:{time:%M}" if time else ""


@register.filter
def joined(words):
    """ "A", "A and B", "A, B and C"."""
    words = [str(word) for word in words]
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


@register.filter
def standing_class(standing):
    """The class that draws a standing's bar line; the word always stands beside it."""
    return {"at tempo": "attempo", "due again": "due"}.get(standing, standing)


@register.filter
def drawn(svg):
    """SVG that our own engraver made; its texts are escaped there."""
    return mark_safe(svg)


@register.filter
def sections_in_words(letters):
    """ "section A", "sections A and B"."""
    return f"section{'s' if len(letters) > 1 else ''} {joined(letters)}"


@register.filter
def primed(letter):
    """A section letter with a true prime."""
    return str(letter).replace("'", "′")


@register.filter
def bars_in_words(loop):
    """The bars of a loop: bar 3, bars 3 and 4, bars 1 to 4."""
    if loop.first == loop.last:
        return f"bar {loop.first}"
    between = "and" if loop.last == loop.first + 1 else "to"
    return f"bars {loop.first} {between} {loop.last}"
