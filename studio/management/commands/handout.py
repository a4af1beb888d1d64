"""A file of music as a printed handout, without a database."""

from pathlib import Path

from django.core.management.base import BaseCommand

from pieces.handouts import score_handout
from pieces.print_options import PAPERS, PrintOptions
from studio.management.files import read_file


class Command(BaseCommand):
    help = "The piece as a PDF: bars with their count, shapes and fingers."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file")
        parser.add_argument("--out", required=True, help="the PDF to write")
        parser.add_argument("--paper", default="a4", choices=list(PAPERS))
        parser.add_argument("--tuning")
        parser.add_argument("--left-handed", action="store_true")
        parser.add_argument("--words", action="store_true", help="every bar also in words")

    def handle(self, *, file, out, paper, tuning, left_handed, words, **options):
        opened = read_file(file, tuning)
        Path(out).write_bytes(
            score_handout(opened.score, PrintOptions(paper, left_handed=left_handed, words=words))
        )
        for problem in opened.problems:
            self.stderr.write(str(problem))
