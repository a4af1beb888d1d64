"""Many files at once: one a step, a report of each, kept all or none."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from pieces import batches
from pieces.models import Batch, BroughtFile, Piece
from pieces.music.tab import read_tab
from pieces.reading import write_abc
from tests.students.test_practice import TUNE

pytestmark = pytest.mark.django_db

ABC = "%abc-2.1\nX:1\nT:Goat Lane\nM:2/4\nL:1/8\nK:C\nCDEF|GAGE|\n"
LOW = "%abc-2.1\nX:1\nT:Cellar Stairs\nM:2/4\nL:1/8\nK:C\nC,D,E,F,|G,A,G,E,|\n"
SHORT = "%abc-2.1\nX:1\nT:Loose Plank\nM:4/4\nL:1/8\nK:C\nCDEF GAGE|CDE|CDEF GAGE|\n"
TWO = (
    "%abc-2.1\nX:1\nT:First Gate\nM:2/4\nL:1/8\nK:C\nCDEF|\n\nX:2\nT:Second Gate\nM:2/4\nL:1/8\nK:C\nGFED|\n"
)
FILES = {
    "goat.abc": ABC,
    "cellar.abc": LOW,
    "loose.abc": SHORT,
    "gates.abc": TWO,
    "stairs.txt": TUNE,
    "shopping.txt": "eggs and flour",
    "picture.abc": "\x00\x01\x02",
}


def uploads(files=FILES):
    return [SimpleUploadedFile(name, text.encode()) for name, text in files.items()]


@pytest.fixture
def batch(cast):
    return batches.open_batch(cast.studio, uploads(), by=cast.owner, at=timezone.now())


def read_all(batch):
    while batches.read_next(batch, timezone.now()):
        pass
    return {file.name: file for file in batch.files.all()}


def test_each_file_is_reported_read_asking_or_refused_and_why(batch):
    files = read_all(batch)
    states = {name: file.state for name, file in files.items()}
    assert states == {
        "goat.abc": "read",
        "cellar.abc": "asks",
        "loose.abc": "read",
        "gates.abc": "asks",
        "stairs.txt": "read",
        "shopping.txt": "refused",
        "picture.abc": "refused",
    }
    assert "bar 2" in files["loose.abc"].report["problems"][0].lower()
    assert files["cellar.abc"].report["keys"] and files["gates.abc"].report["parts"]
    assert all(files[name].report["problems"] for name in ("shopping.txt", "picture.abc"))


def test_one_step_reads_one_file(batch):
    batches.read_next(batch, timezone.now())
    assert batch.files.filter(state="waiting").count() == len(FILES) - 1


def test_nothing_is_a_piece_before_it_is_kept_and_then_all_that_were_read_are(cast, batch):
    read_all(batch)
    assert not Piece.objects.exists()
    made = batches.keep_all(batch, rights="public", by=cast.owner)
    assert sorted(piece.title for piece in made) == ["Eight Stairs", "Goat Lane", "Loose Plank"]
    assert {piece.rights for piece in made} == {"public"}
    kept = batch.files.filter(state="kept")
    assert kept.count() == 3 and not any(bytes(file.data) for file in kept)


def test_where_one_of_them_fails_none_is_kept(cast, batch, monkeypatch):
    read_all(batch)
    make, made = batches.add_piece, []

    def fails_at_the_third(*args, **more):
        if len(made) == 2:
            raise RuntimeError
        made.append(1)
        return make(*args, **more)

    monkeypatch.setattr(batches, "add_piece", fails_at_the_third)
    with pytest.raises(RuntimeError):
        batches.keep_all(batch, rights="", by=cast.owner)
    assert not Piece.objects.exists()
    assert batch.files.filter(state="read").count() == 3


def test_keeping_twice_keeps_once(cast, batch):
    read_all(batch)
    batches.keep_all(batch, rights="", by=cast.owner)
    assert batches.keep_all(batch, rights="", by=cast.owner) == []
    assert Piece.objects.count() == 3


def test_two_steps_at_once_read_two_files(batch, monkeypatch):
    inner = {}

    def while_the_first_is_read(file, tuning):
        if not inner:
            inner["file"] = None
            inner["file"] = batches.read_next(batch, timezone.now())
        return BroughtFile.REFUSED, {"problems": [file.name]}

    monkeypatch.setattr(batches, "_read", while_the_first_is_read)
    first = batches.read_next(batch, timezone.now())
    assert {first.name, inner["file"].name} == {"goat.abc", "cellar.abc"}


def test_a_reading_that_broke_off_is_tried_once_more_and_then_refused(batch):
    batch.files.exclude(name="goat.abc").delete()
    now = timezone.now()
    for minutes in (0, 2):
        assert batches._claimed(batch, now + timedelta(minutes=minutes)).name == "goat.abc"
    assert batches.read_next(batch, now + timedelta(minutes=4)) is None
    assert batch.files.get().state == "refused"


def test_a_file_that_lies_too_low_is_read_again_in_the_key_that_was_chosen(batch):
    files = read_all(batch)
    key = files["cellar.abc"].report["keys"][0]["semitones"]
    batches.answer(batch, {files["cellar.abc"].pk: batches.Answer(None, key)})
    assert read_all(batch)["cellar.abc"].state == "read"


def test_a_collection_is_brought_whole_a_piece_for_each_tune(cast, batch):
    files = read_all(batch)
    batches.answer(batch, {files["gates.abc"].pk: batches.Answer(every_part=True)})
    read_all(batch)
    made = batches.keep_all(batch, rights="", by=cast.owner)
    assert {"First Gate", "Second Gate"} < {piece.title for piece in made}
    assert batch.files.filter(name="gates.abc").count() == 2


def test_another_instrument_is_set_for_all_of_them(batch):
    read_all(batch)
    batches.set_on(batch, "guitar")
    files = read_all(batch)
    assert files["cellar.abc"].state == "read"
    assert files["goat.abc"].report["tuning"] == "guitar"


def test_what_is_too_large_to_be_music_is_refused_before_it_is_kept(cast):
    huge = SimpleUploadedFile("huge.xml", b"<" * (batches.LARGEST + 1))
    batch = batches.open_batch(cast.studio, [huge], by=cast.owner, at=timezone.now())
    assert batch.files.get().state == "refused" and not bytes(batch.files.get().data)


def test_a_batch_left_alone_for_a_month_is_forgotten(cast, batch):
    batches.open_batch(cast.studio, uploads(), by=cast.owner, at=timezone.now() + timedelta(days=31))
    assert not Batch.objects.filter(pk=batch.pk).exists()


def test_several_files_are_read_step_by_step_from_the_page_and_kept_in_one_go(cast, sign_in):
    owner = sign_in(cast.teacher)
    answer = owner.post(reverse("piece_bring"), {"file": uploads()})
    page = answer.url
    batch = Batch.objects.get()
    assert page == reverse("batch", args=[batch.pk])
    for done in range(1, len(FILES) + 1):
        part = owner.post(reverse("batch_step", args=[batch.pk]), headers={"HX-Request": "true"})
        assert f'value="{done}"' in part.content.decode()
    assert "3 read, 2 ask something, 2 refused." in owner.get(page).content.decode()
    assert owner.post(page, {"do": "keep", "rights": "own"}).url == page
    assert Piece.objects.filter(rights="own").count() == 3
    gates = batch.files.get(name="gates.abc")
    owner.post(page, {"do": "answer", f"part-{gates.pk}": "1"})
    owner.post(reverse("batch_step", args=[batch.pk]))
    owner.post(page, {"do": "keep"})
    assert Piece.objects.filter(title="Second Gate").exists()
    owner.post(page, {"do": "leave"})
    assert set(batch.files.values_list("state", flat=True)) == {"kept"}


def test_one_file_alone_is_looked_at_as_before(cast, sign_in):
    answer = sign_in(cast.owner).post(reverse("piece_bring"), {"file": uploads({"goat.abc": ABC})})
    assert answer.url.startswith("/pieces/brought/")


def test_too_many_files_are_refused_in_words(cast, sign_in):
    many = uploads({f"{n}.abc": ABC for n in range(batches.MOST_FILES + 1)})
    answer = sign_in(cast.owner).post(reverse("piece_bring"), {"file": many})
    assert b"Bring up to 200 at a time" in answer.content
    assert not Batch.objects.exists()


def test_a_colleague_may_go_on_with_a_batch_and_a_stranger_finds_none(cast, batch, sign_in):
    page, step = (reverse(name, args=[batch.pk]) for name in ("batch", "batch_step"))
    assert sign_in(cast.teacher).get(page).status_code == 200
    assert sign_in(cast.foreigner).get(page).status_code == 404
    assert sign_in(cast.foreigner).post(step).status_code == 404
    assert sign_in(student=cast.learner).get(page).status_code == 403
    assert sign_in(cast.owner).get(step).status_code == 405


def test_what_was_written_as_abc_comes_in_through_a_batch(cast):
    files = {"out.abc": write_abc(read_tab(TUNE))}
    batch = batches.open_batch(cast.studio, uploads(files), by=cast.owner, at=timezone.now())
    assert read_all(batch)["out.abc"].report["bars"] == 4
