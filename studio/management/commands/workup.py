"""Work a file of music up, without a database."""

from django.core.management.base import BaseCommand

from pieces.music.findings import work_up
from pieces.music.report import problem_data, workup_data
from studio.management.files import print_json, read_file


class Command(BaseCommand):
    help = "What Fourbar finds in a piece: counts, shapes, fingers, sections, hard bars."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file")
        parser.add_argument("--tuning", help="instrument by name, as 'ukulele high G'")
        parser.add_argument("--goal", type=int, help="goal tempo in beats a minute")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *, file, tuning, goal, json, **options):
        opened = read_file(file, tuning)
        workup = work_up(opened.score, goal=goal)
        data = workup_data(workup)
        data["problems"] = [problem_data(problem) for problem in opened.problems] + data["problems"]
        if json:
            print_json(data)
        else:
            self.say(data, workup)

    def say(self, data, workup):
        self.stdout.write(f"{data['title']}, {data['tuning']}, {data['meter']}, goal {workup.goal}")
        for section in data["sections"]:
            self.stdout.write(f"  {section['letter']}: bars {section['first']} to {section['last']}")
        for bar in data["bars"]:
            same = f" as bar {bar['class']}" if bar["class"] != bar["number"] else ""
            chords = " ".join(symbol for _onset, symbol in bar["chords"])
            self.stdout.write(
                f"  bar {bar['number']:>3}{same}: {bar['count']}  {chords}  {bar['difficulty']:.1f} of 10"
            )
        for problem in data["problems"]:
            self.stdout.write(f"  {problem['text']}")
