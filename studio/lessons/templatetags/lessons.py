"""The next lesson, for the head of every page of the teacher's."""

from django import template

from studio.lessons.timetable import next_meeting

register = template.Library()


@register.simple_tag(takes_context=True)
def next_lesson_of_mine(context):
    """The teacher's next lesson but that of the learner whose page is open; None within a week."""
    actor, student = context["actor"], context.get("student")
    return next_meeting(actor.studio, actor.user, but=getattr(student, "pk", None))


@register.filter
def weekday_unless(day, today):
    """ "Fri", or nothing where ``day`` is today."""
    return "" if day == today else f"{day:%a}"
