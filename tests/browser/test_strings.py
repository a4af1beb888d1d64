"""Plucked strings measured: rendered offline in a browser, heard by our own ear for pitch.

The pitch asked is that of equal temperament on A4 = 440 Hz (ISO 16:1975).
"""

import math

import numpy as np
import pytest

pytestmark = pytest.mark.django_db(transaction=True)

# Open strings of bass, guitar, baritone and high-G ukulele, mandolin, and high frets.
PITCHES = (28, 33, 40, 45, 50, 55, 59, 60, 64, 67, 69, 74, 76, 81, 88)
RENDER = """async ([module, midi, rate]) => {
  const { pluck } = await import(module);
  const audio = new OfflineAudioContext(1, rate * 1.5, rate);
  pluck(audio, midi, 0.25, 1.2);
  return Array.from((await audio.startRendering()).getChannelData(0));
}"""


@pytest.fixture
def strings(site, page):
    """Samples of one plucked string, from a page of the studio and its own module."""
    page.goto(f"{site}/sign-in/")

    def plucked(midi, rate=44100):
        return np.array(page.evaluate(RENDER, [f"{site}/static/studio/strings.js", midi, rate]))

    return plucked


def hertz(midi):
    return 440 * 2 ** ((midi - 69) / 12)


def tone(samples, frequency, rate):
    """Amplitude and phase of one frequency under a Hann window, by its definition."""
    turns = np.exp(-2j * np.pi * frequency / rate * np.arange(len(samples)))
    return (samples * np.hanning(len(samples)) * turns).sum()


def heard(samples, rate, near):
    """The fundamental in Hz: how far its phase turned between two windows a known time apart.

    The second window starts a whole number of ``near``'s periods later, as nearly as
    samples allow, so that the turn is small and means one frequency only.
    """
    size = round(rate * 0.3)
    start = round(rate * 0.3)
    apart = round(round(0.25 * near) * rate / near)
    first = tone(samples[start : start + size], near, rate)
    second = tone(samples[start + apart : start + apart + size], near, rate)
    turned = np.angle(second / first * np.exp(-2j * np.pi * near * apart / rate))
    return near + turned * rate / (2 * math.pi * apart)


@pytest.mark.parametrize("rate", [44100, 48000])
def test_every_plucked_string_is_in_tune_within_a_fifth_of_a_cent(strings, rate):
    off = {}
    for midi in PITCHES:
        pitch = heard(strings(midi, rate), rate, hertz(midi))
        off[midi] = round(1200 * math.log2(pitch / hertz(midi)), 3)
    assert max(map(abs, off.values())) < 0.2, off


def test_the_ear_of_this_test_hears_a_tone_that_is_a_cent_off():
    rate = 44100
    wrong = hertz(69) * 2 ** (1 / 1200)
    samples = np.sin(2 * np.pi * wrong * np.arange(rate) / rate)
    assert 1200 * math.log2(heard(samples, rate, hertz(69)) / hertz(69)) == pytest.approx(1, abs=0.01)


def test_a_string_is_silent_before_its_time_and_after_it_is_damped(strings):
    samples = strings(69)
    loudest = abs(samples).max()
    assert abs(samples[: int(44100 * 0.25)]).max() == 0
    assert 0.1 < loudest <= 0.26
    # 1.2 s after 0.25 s the hand damps it; 45 ms later it is down by more than 15 dB.
    before = abs(samples[int(44100 * 1.40) : int(44100 * 1.45)]).max()
    after = abs(samples[int(44100 * 1.495) :]).max()
    assert after < before / 5
