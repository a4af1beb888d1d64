"""Which loop on which day: the plan of an assignment."""

from students.planning.plan import Calendar, Day, Fit, Learner, Plan, Returns, Task, Turn, WayOut

__all__ = ["Calendar", "Day", "Fit", "Learner", "Plan", "Returns", "Task", "Turn", "WayOut"]
