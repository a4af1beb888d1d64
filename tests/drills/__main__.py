"""``python -m tests.drills [NAME ...] [--short] [--broken] [--json]``: every promise tried, its figures printed."""

import argparse
import json
import sys
import time

from tests.drills.ground import own_ground

NAMES = ("kill", "crowd", "studios", "restore", "card", "offline")


def main() -> int:
    asked = _arguments()
    with own_ground():
        from django.db import connection

        from tests.drills import crowd, killing, lost_card, offline, restoring, two_studios

        drills = [m.DRILL for m in (killing, crowd, two_studios, restoring, lost_card, offline)]
        well = True
        for drill in drills:
            if asked.names and drill.name not in asked.names:
                continue
            if drill.only_on not in (None, connection.vendor):
                continue
            well &= _try(drill, asked)
            for mutation in drill.mutations if asked.broken else ():
                well &= _try(drill, asked, mutation)
    return 0 if well else 1


def _try(drill, asked, mutation: str | None = None) -> bool:
    """Try a drill and say how it went; with a broken guard it went well if the drill noticed."""
    began = time.monotonic()
    outcome = drill.tried(short=asked.short or mutation is not None, broken=mutation)
    seconds = time.monotonic() - began
    if asked.json:
        said = {"drill": drill.name, "mutation": mutation, "figures": outcome.figures}
        print(json.dumps({**said, "broken": outcome.broken, "seconds": round(seconds, 1)}), flush=True)
    elif mutation is None:
        print(f"{'held' if outcome.held else 'BROKEN'}  {drill.name}: {drill.promise} ({seconds:.0f} s)")
        print(f"      {outcome.figures}")
    else:
        noticed = f"noticed: {', '.join(outcome.broken)}" if outcome.broken else "NOT NOTICED"
        print(f"      where {mutation}: {noticed}")
    if not asked.json:
        for fault in outcome.broken if mutation is None else ():
            print(f"      {fault}")
        sys.stdout.flush()
    return outcome.held if mutation is None else not outcome.held


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.drills", description=__doc__)
    parser.add_argument("names", nargs="*", choices=[[], *NAMES], metavar="NAME", help=", ".join(NAMES))
    parser.add_argument("--short", action="store_true", help="seconds instead of minutes")
    parser.add_argument("--broken", action="store_true", help="also break each guard; the drill must notice")
    parser.add_argument("--json", action="store_true", help="print one JSON object a line")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
