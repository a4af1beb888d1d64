"""Dense strips measured by a real browser, with the fonts the pages use."""

from base64 import b64encode
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from pieces.engraving.strip import strips
from tests.engraving.random_bars import passages

STATIC = Path(__file__).resolve().parents[2] / "studio/static/studio"
FACES = {
    ("Besley", 500, "normal"): "besley-latin-500-normal",
    ("Besley", 800, "normal"): "besley-latin-800-normal",
    ("Franklin", 400, "normal"): "libre-franklin-latin-400-normal",
    ("Franklin", 400, "italic"): "libre-franklin-latin-400-italic",
    ("Franklin", 700, "normal"): "libre-franklin-latin-700-normal",
}
# Ink of each text as the browser sets it: its width from the layout, its height from the signs.
OVERLAPS = """
async () => {
  await Promise.all([...document.fonts].map(face => face.load()));
  const pen = document.createElement('canvas').getContext('2d');
  const found = [];
  for (const svg of document.querySelectorAll('svg')) {
    const boxes = [...svg.querySelectorAll('text')].map(text => {
      const { left, right } = text.getBoundingClientRect();
      const style = getComputedStyle(text), place = text.getScreenCTM();
      pen.font = `${style.fontStyle} ${style.fontWeight} 100px ${style.fontFamily}`;
      const ink = pen.measureText(text.textContent);
      const size = parseFloat(style.fontSize) * place.d / 100;
      const line = parseFloat(text.getAttribute('y')) * place.d + place.f;
      return { text: text.textContent, left, right,
               top: line - ink.actualBoundingBoxAscent * size,
               foot: line + ink.actualBoundingBoxDescent * size };
    });
    boxes.forEach((a, i) => boxes.slice(i + 1).forEach(b => {
      const air = 0.3;
      if (a.left < b.right - air && b.left < a.right - air && a.top < b.foot - air && b.top < a.foot - air)
        found.push(`${a.text} on ${b.text}`);
    }));
  }
  return found;
}
"""


def fonts() -> str:
    rules = []
    for (family, weight, style), name in FACES.items():
        data = b64encode((STATIC / f"fonts/{name}.woff2").read_bytes()).decode()
        rules.append(
            f"@font-face {{ font-family: {family}; font-weight: {weight}; font-style: {style};"
            f" src: url(data:font/woff2;base64,{data}); }}"
        )
    return "".join(rules)


@pytest.mark.browser
def test_no_two_texts_overlap_as_a_browser_sets_them(page):
    page.set_content(f"<style>{fonts()} svg {{ display: block; width: 900px }}</style><main></main>")

    @settings(
        max_examples=25,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=[HealthCheck.too_slow],
    )
    @given(passages())
    def holds(passage):
        bars, tuning, options = passage
        drawn = "".join(strips(bars, tuning, options))
        page.evaluate("svg => { document.querySelector('main').innerHTML = svg }", drawn)
        assert page.evaluate(OVERLAPS) == []

    holds()
