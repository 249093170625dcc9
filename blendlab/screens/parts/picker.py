"""Points set on a photo by mouse, touch or keys: a small component of our own, with numbers as fallback."""

import base64
from collections.abc import Sequence

import streamlit as st

Point = tuple[float, float]

_HTML = '<div class="photo"><img alt="The photo, with points to move"><svg aria-hidden="true"></svg></div>'
_CSS = """
.photo {position: relative; touch-action: none; user-select: none; max-width: 100%;}
.photo img {display: block; width: 100%; border-radius: .5rem;}
.photo svg {position: absolute; inset: 0; width: 100%; height: 100%; pointer-events: none;}
.photo svg polygon {fill: none; stroke: #fff; stroke-width: 2; paint-order: stroke;
  filter: drop-shadow(0 0 2px #000);}
.photo button {position: absolute; width: 2.75rem; height: 2.75rem; margin: -1.375rem 0 0 -1.375rem;
  padding: 0; border-radius: 50%; border: 2px solid #fff; outline: 2px solid #2e2a25; cursor: grab;
  background: rgba(138,75,22,.25);}
.photo button b {position: absolute; left: 1.9rem; top: -.5rem; padding: 0 .35rem; border-radius: .3rem;
  background: #171310; color: #fff; font: 600 .875rem/1.4 sans-serif;}
.photo button::before {content: ""; position: absolute; inset: 0;
  background: linear-gradient(#fff 0 0) center / 1.5px 60% no-repeat,
    linear-gradient(#fff 0 0) center / 60% 1.5px no-repeat;
  filter: drop-shadow(0 0 1px #000);}
.photo button:focus-visible {outline: 3px solid #e0a36a;}
"""
_JS = """
export default function(component) {
  const { parentElement, data, setStateValue } = component;
  const box = parentElement.querySelector('.photo'), image = box.querySelector('img');
  const svg = box.querySelector('svg');
  if (box.dataset.key === data.key) return;
  box.dataset.key = data.key;
  image.src = data.image;
  box.querySelectorAll('button').forEach((old) => old.remove());
  const points = data.points.map((p) => [...p]);
  const between = (v) => Math.min(1, Math.max(0, v));
  const draw = () => {
    const four = (at) => points.slice(at, at + 4).map(([x, y]) => `${100 * x},${100 * y}`).join(' ');
    const polygon = (at) => `<polygon vector-effect="non-scaling-stroke" points="${four(at)}"/>`;
    svg.setAttribute('viewBox', '0 0 100 100');
    svg.setAttribute('preserveAspectRatio', 'none');
    svg.innerHTML = [0, 4].filter((at) => at < data.outline).map(polygon).join('');
    handles.forEach((handle, n) => {
      handle.style.left = `${100 * points[n][0]}%`;
      handle.style.top = `${100 * points[n][1]}%`;
    });
  };
  const done = () => setStateValue('points', points.map((p) => [...p]));
  const handles = points.map((_, n) => {
    const handle = document.createElement('button');
    handle.type = 'button';
    handle.innerHTML = '<b></b>';
    handle.firstChild.textContent = data.labels[n][0];
    handle.setAttribute('aria-label', `${data.labels[n][1]}; arrow keys move it`);
    handle.onpointerdown = (event) => { handle.setPointerCapture(event.pointerId); handle.focus(); };
    handle.onpointermove = (event) => {
      if (!handle.hasPointerCapture(event.pointerId)) return;
      const area = image.getBoundingClientRect();
      points[n] = [between((event.clientX - area.left) / area.width),
                   between((event.clientY - area.top) / area.height)];
      draw();
    };
    handle.onpointerup = done;
    handle.onkeydown = (event) => {
      const step = event.shiftKey ? 0.02 : 0.002;
      const ways = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1]};
      const way = ways[event.key];
      if (!way) return;
      event.preventDefault();
      points[n] = [between(points[n][0] + way[0] * step), between(points[n][1] + way[1] * step)];
      draw();
    };
    handle.onkeyup = (event) => { if (event.key.startsWith('Arrow')) done(); };
    box.appendChild(handle);
    return handle;
  });
  draw();
}
"""
_mount = st.components.v2.component("blendlab_points_on_photo", html=_HTML, css=_CSS, js=_JS)


def points_on(
    png: bytes, points: Sequence[Point], labels: Sequence[tuple[str, str]], outline: int, key: str
) -> list[Point]:
    """Show a photo with points that can be moved.

    Parameters
    ----------
    png : bytes
        The photo, small enough for a page.
    points : sequence of (float, float)
        Where the points start, as parts of the photo's width and height.
    labels : sequence of (str, str)
        A letter and a name for each.
    outline : int
        How many of the first points are joined by lines, four at a time: 0, 4 or 8.
    key : str
        Changes with the photo and with the points it starts from.

    Returns
    -------
    list of (float, float)
        Where the points are now, as parts of width and height.
    """
    image = "data:image/png;base64," + base64.b64encode(png).decode()
    data = {"image": image, "points": points, "labels": labels, "outline": outline, "key": key}
    found = _mount(key=f"points {key}", data=data, default={"points": points}, on_points_change=lambda: None)
    moved = found.points or points
    return [(float(x), float(y)) for x, y in moved]
