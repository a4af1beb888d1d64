"""What the page of a batch shows: how far it is, and each file's report."""

from pieces.models import Batch, BroughtFile, Piece
from pieces.music.tuning import TUNINGS

WORDS = {
    BroughtFile.WAITING: "waits",
    BroughtFile.READING: "is being read",
    BroughtFile.READ: "read",
    BroughtFile.ASKS: "asks",
    BroughtFile.REFUSED: "refused",
    BroughtFile.KEPT: "kept",
}
# The order in which a teacher wants to see them: what needs an answer first.
ORDER = tuple(
    getattr(BroughtFile, name) for name in ("ASKS", "REFUSED", "READ", "READING", "WAITING", "KEPT")
)


def batch_page(batch: Batch, *, nothing_read=False) -> dict:
    """``nothing_read``: the last step found every waiting file in other hands, so that the next may wait."""
    files = list(batch.files.defer("data").select_related("piece").order_by("pk"))
    count = {state: sum(file.state == state for file in files) for state in WORDS}
    left = count[BroughtFile.WAITING] + count[BroughtFile.READING]
    working = left > 0
    if not working:
        files.sort(key=lambda file: ORDER.index(file.state))
    return {
        "batch": batch,
        "lines": [_line(file) for file in files],
        "total": len(files),
        "done": len(files) - left,
        "working": working,
        "pause": "1500ms" if nothing_read else "30ms",
        "summary": _summary(count),
        "ready": count[BroughtFile.READ],
        "asking": count[BroughtFile.ASKS],
        "left_over": len(files) - count[BroughtFile.KEPT],
        "tunings": list(TUNINGS),
        "rights": Piece.RIGHTS,
    }


def _line(file: BroughtFile) -> dict:
    report = file.report
    problems = report.get("problems", [])
    word = WORDS[file.state]
    if file.state == BroughtFile.READ and problems:
        word = f"read, {len(problems)} to look at"
    bars = report.get("bars")
    what = f"{bars} bar{'s' if bars > 1 else ''}, {report['meter']}" if bars else ""
    return {"file": file, "word": word, "what": what, "report": report, "problems": problems}


def _summary(count: dict[str, int]) -> str:
    """ "9 read, 2 ask something, 1 refused"."""
    said = [
        (count[BroughtFile.READ], "read"),
        (count[BroughtFile.ASKS], "ask something" if count[BroughtFile.ASKS] > 1 else "asks something"),
        (count[BroughtFile.REFUSED], "refused"),
        (count[BroughtFile.KEPT], "kept"),
    ]
    return ", ".join(f"{number} {word}" for number, word in said if number)
