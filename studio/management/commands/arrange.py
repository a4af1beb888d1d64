"""Arrange a file of music for an instrument, without a database."""

from django.core.management.base import BaseCommand

from pieces.music.arranging import LEVELS, OutOfReach, arrange, best_keys
from pieces.music.picking import STYLES
from pieces.music.report import arranging_data, problem_data
from pieces.music.setting import transpose
from studio.management.files import named_tuning, print_json, read_music, refuse


class Command(BaseCommand):
    help = "A tune at four levels, from the melody alone to full chords, and the keys it lies best in."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file")
        parser.add_argument("--tuning", help="instrument by name, as 'ukulele high G' (default: the file's)")
        parser.add_argument("--level", type=int, choices=list(LEVELS), help="one level only (default: all)")
        parser.add_argument("--semitones", type=int, default=0, help="move the tune first, as best_keys says")
        parser.add_argument("--picking", choices=STYLES, default="thumb and two")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *, file, tuning, level, semitones, picking, json, **options):
        opened = read_music(file)
        wanted = named_tuning(tuning) if tuning else opened.score.tuning
        keys = best_keys(opened.score, None, wanted)
        tune = transpose(opened.score, semitones)
        try:
            arranged = [arrange(tune, None, wanted, n, style=picking) for n in ([level] if level else LEVELS)]
        except OutOfReach as error:
            fitting = ", ".join(f"{rank.key} ({rank.semitones:+d})" for rank in keys if rank.fits)
            refuse(f"{error} It fits in: {fitting or 'no key'}.")
        data = arranging_data(arranged, keys)
        data["problems"] = [problem_data(problem) for problem in opened.problems]
        if json:
            print_json(data)
        else:
            self.say(data)

    def say(self, data):
        chords = "proposed chords" if data["proposed"] else "the chords written"
        self.stdout.write(f"{data['title'] or 'Untitled'}, {data['tuning']}, {data['meter']}, {chords}")
        for level in data["levels"]:
            carried = f"{level['carried']} of {level['strong']} strong beats carry two chord tones or more"
            self.stdout.write(f"  level {level['level']}, {level['name']}: {carried}")
            for remark in level["remarks"]:
                self.stdout.write(f"    {remark}")
        for rank in data["best_keys"]:
            self.stdout.write(f"  {rank['key'] or 'key'} ({rank['semitones']:+d}): {rank['text']}")
        for problem in data["problems"]:
            self.stdout.write(f"  {problem['text']}")
