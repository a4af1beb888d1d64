// The playing count: an inked edge that steps from count to count in the strip.
const SVG = "http://www.w3.org/2000/svg";
const still = matchMedia("(prefers-reduced-motion: reduce)");

// Follow counts by their ids within `root`; for a reader who wants no motion, nothing moves.
export function highlight(root) {
  const edge = document.createElementNS(SVG, "rect");
  edge.setAttribute("class", "edge");
  const places = new Map();
  let bar = null;

  return {
    step(id) {
      if (still.matches) return;
      const count = root.querySelector(`#${CSS.escape(id)}`);
      if (!count) return;
      if (!places.has(id)) places.set(id, placeOf(count));
      for (const [name, value] of Object.entries(places.get(id))) edge.setAttribute(name, value);
      const svg = count.ownerSVGElement;
      if (edge.ownerSVGElement !== svg) svg.append(edge);
      keepInView(svg);
      bar = svg;
    },
    clear() {
      edge.remove();
      bar = null;
    },
  };

  // Turn the page when the loop plays on below the screen, but never for a reader who
  // has moved away from the bar that plays.
  function keepInView(svg) {
    if (svg === bar || (bar && !isSeen(bar)) || isSeen(svg)) return;
    svg.scrollIntoView({ block: "nearest" });
  }
}

// A thick stroke under the count, on the lower edge of its band.
function placeOf(count) {
  const word = count.getBBox();
  const band = [...count.ownerSVGElement.querySelectorAll(".band")].map((rect) => rect.getBBox());
  const own = band.find((box) => box.x <= word.x && word.x <= box.x + box.width);
  const foot = own ? own.y + own.height : word.y + word.height;
  const width = Math.max(word.width, 24);
  return { x: word.x + word.width / 2 - width / 2, y: foot - 5, width, height: 5 };
}

function isSeen(svg) {
  const { top, bottom } = svg.getBoundingClientRect();
  return top >= 0 && bottom <= innerHeight;
}
