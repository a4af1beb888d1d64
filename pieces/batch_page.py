"""What the page of a batch shows: how far it is, and each file's report."""

from django.db.models import Count

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
LATEST = 6
# The order in which a teacher wants to see them: what needs an answer first.
ORDER = [
    BroughtFile.ASKS,
    BroughtFile.REFUSED,
    BroughtFile.READ,
    BroughtFile.READING,
    BroughtFile.WAITING,
    BroughtFile.KEPT,
]


def batch_page(batch: Batch, *, nothing_read=False) -> dict:
    """``nothing_read``: the last step found every waiting file in other hands, so that the next may wait.

    While files are being read only the latest are listed, so that a step costs the
    same for ten files and for two hundred.
    """
    count = dict.fromkeys(WORDS, 0)
    count.update(batch.files.values_list("state").annotate(Count("pk")).order_by())
    total = sum(count.values())
    left = count[BroughtFile.WAITING] + count[BroughtFile.READING]
    return {
        "batch": batch,
        "lines": [_line(file) for file in (_latest(batch) if left else _all(batch))],
        "total": total,
        "done": total - left,
        "working": left > 0,
        "pause": "1500ms" if nothing_read else "30ms",
        "summary": _summary(count),
        "ready": count[BroughtFile.READ],
        "asking": count[BroughtFile.ASKS],
        "left_over": total - count[BroughtFile.KEPT],
        "tunings": list(TUNINGS),
        "rights": Piece.RIGHTS,
    }


def _latest(batch: Batch):
    looked_at = batch.files.exclude(state__in=(BroughtFile.WAITING, BroughtFile.READING))
    return looked_at.defer("data").select_related("piece").order_by("-pk")[:LATEST]


def _all(batch: Batch) -> list[BroughtFile]:
    files = batch.files.defer("data").select_related("piece").order_by("pk")
    return sorted(files, key=lambda file: ORDER.index(file.state))


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
