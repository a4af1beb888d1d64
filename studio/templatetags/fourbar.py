"""Words and small shapes that every template needs."""

from django import template

register = template.Library()


@register.filter
def day_in_full(day):
    """Thursday 19 March, without a leading zero on any platform."""
    return f"{day:%A} {day.day} {day:%B}"


@register.filter
def bars_in_words(chunk):
    """ "bar 3", "bars 3 and 4", "bars 1 to 4"."""
    if chunk.first == chunk.last:
        return f"bar {chunk.first}"
    between = "and" if chunk.last == chunk.first + 1 else "to"
    return f"bars {chunk.first} {between} {chunk.last}"
