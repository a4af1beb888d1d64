"""Days as a teacher says them."""

from datetime import date


def on_day(day: date, *, short: bool = False) -> str:
    """A day of the year, as in "on Tuesday 17 March".

    >>> on_day(date(2026, 3, 17)), on_day(date(2026, 3, 17), short=True)
    ('on Tuesday 17 March', '17 March')
    """
    said = f"{day.day} {day:%B}"
    return said if short else f"on {day:%A} {said}"


def ago(day: date, today: date) -> str:
    """A day before ``today``, as one says it.

    >>> ago(date(2026, 3, 16), date(2026, 3, 17)), ago(date(2026, 3, 14), date(2026, 3, 17))
    ('yesterday', 'on Saturday')
    """
    nights = (today - day).days
    if nights < 1:
        return "today"
    if nights == 1:
        return "yesterday"
    return f"on {day:%A}" if nights < 7 else on_day(day)
