"""A loop rendered offline and measured: clicks on the grid, notes on their counts, none late under load."""

import math
from base64 import b64decode

import numpy as np
import pytest

from pieces.music.playing import playing
from pieces.music.score import Bar
from pieces.music.tab import read_tab
from pieces.music.tuning import Tuning
from tests.browser.test_strings import heard, hertz

pytestmark = pytest.mark.django_db(transaction=True)

RATE = 44100
STARTS = 0.1  # s
RENDER = """async ([modules, loop, tempo, strings, seconds, starts, rate]) => {
  const { scheduler } = await import(`${modules}/player.js`);
  const audio = new OfflineAudioContext(1, rate * seconds, rate);
  const state = scheduler(audio, loop, { tempo, strings, startAt: starts });
  state.schedule(seconds);
  const samples = (await audio.startRendering()).getChannelData(0);
  const bytes = new Uint8Array(samples.buffer);
  let text = "";
  for (let n = 0; n < bytes.length; n += 8192) text += String.fromCharCode(...bytes.subarray(n, n + 8192));
  return [btoa(text), state.late];
}"""
UNDER_LOAD = """async ([modules, loop, seconds, busy]) => {
  const { play } = await import(`${modules}/player.js`);
  const audio = new AudioContext();
  await audio.resume();
  const seen = [];
  const run = play(audio, loop, { tempo: 208, strings: true, onCount: () => seen.push(audio.currentTime) });
  for (const end = performance.now() + seconds * 1000; performance.now() < end; ) {
    const until = performance.now() + busy; // the page does nothing else for so long
    while (performance.now() < until) Math.sqrt(2);
    await new Promise((go) => setTimeout(go, 25));
  }
  const { late, sounded } = run.state;
  run.stop();
  return { late, sounded, seen: seen.length };
}"""


@pytest.fixture
def rendered(site, page):
    """Samples of a loop that is played, and how many of its sounds came late."""
    page.goto(f"{site}/sign-in/")

    def of(loop, tempo, *, strings, seconds):
        given = [f"{site}/static/studio", loop.to_data(), tempo, strings, seconds, STARTS, RATE]
        text, late = page.evaluate(RENDER, given)
        return np.frombuffer(b64decode(text), dtype="<f4"), late

    return of


def onsets(samples):
    """Seconds at which sound begins after at least 50 ms of silence."""
    sounding = np.flatnonzero(abs(samples) > 1e-4)
    gaps = np.flatnonzero(np.diff(sounding) > 0.05 * RATE)
    return np.concatenate([sounding[:1], sounding[gaps + 1]]) / RATE


def four_beats():
    return playing([Bar.of("4/4", "1/4 1/8 1/8 1/2")], Tuning("one string", (69,)))


@pytest.mark.parametrize("tempo", [42, 63, 88, 132, 208])
def test_clicks_stand_on_the_exact_grid(rendered, tempo):
    loop = four_beats()
    samples, late = rendered(loop, tempo, strings=False, seconds=14)
    found = onsets(samples)
    grid = STARTS + np.arange(len(found)) * 60 / tempo
    assert late == 0
    assert len(found) == math.ceil((14 - STARTS) * tempo / 60)
    # One sample is 0.023 ms; a click is audible from its second or third sample on.
    assert abs(found - grid).max() < 0.0002
    assert abs(np.diff(found) - 60 / tempo).max() < 0.00005


def test_no_drift_after_two_hundred_beats(rendered):
    samples, _late = rendered(four_beats(), 144, strings=False, seconds=90)
    found = onsets(samples)
    assert found[200] - found[0] == pytest.approx(200 * 60 / 144, abs=0.00005)


def test_strings_sound_at_their_pitch_after_the_count_in(rendered):
    bar = Bar.of("4/4", "1/1")
    samples, _late = rendered(playing([bar], Tuning("one string", (69,))), 60, strings=True, seconds=9)
    with_clicks = samples[: int(RATE * 9)]
    begins = STARTS + 4  # after a bar of clicks at 60
    note = with_clicks[int(RATE * begins) : int(RATE * (begins + 0.99))]
    assert 1200 * math.log2(heard(note, RATE, hertz(69)) / hertz(69)) == pytest.approx(0, abs=0.2)


@pytest.mark.parametrize("busy", [0, 120, 250])
def test_no_note_is_late_while_the_page_is_held_up(site, page, busy):
    notes = read_tab("""title: Full
tuning: ukulele high G
meter: 4/4

A|-3-2-3-2-3-2-3-2-|
E|-0-0-0-0-0-0-0-0-|
C|-0-0-0-0-0-0-0-0-|
G|-0-0-0-0-0-0-0-0-|
   1 & 2 & 3 & 4 &
""")
    loop = playing(notes.bars, notes.tuning)
    assert len(loop.plucks) == 32
    page.goto(f"{site}/sign-in/")
    page.mouse.click(5, 5)  # sound may begin only after a touch
    outcome = page.evaluate(UNDER_LOAD, [f"{site}/static/studio", loop.to_data(), 6, busy])
    assert outcome["sounded"] > 100
    assert outcome["late"] == 0
    assert outcome["seen"] > 5
