"""A plan as plain data that others script against (documented in the README)."""

from students.planning.plan import Plan


def plan_data(plan: Plan) -> dict:
    """One JSON object. Days are ISO 8601, tempos beats a minute."""
    return {
        "days": [
            {
                "date": day.date.isoformat(),
                "minutes": day.minutes,
                "tasks": [
                    {
                        "loop": {"kind": task.kind, "first": task.first, "last": task.last},
                        "minutes": task.minutes,
                        "passes": task.passes,
                        "from_tempo": task.from_tempo,
                        "to_tempo": task.to_tempo,
                        "new": task.new,
                        "why": task.why,
                    }
                    for task in day.tasks
                ],
            }
            for day in plan.days
        ],
        "fit": {
            "fits": plan.fit.fits,
            "text": plan.fit.text,
            "ways_out": [
                {"kind": way.kind, "text": way.text, "needed": way.needed, "available": way.available}
                for way in plan.fit.ways_out
            ],
        },
    }
