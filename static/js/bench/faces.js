/* The face of a plug with the cavity that is meant, and the broad band of a wire's colour. Both are drawings, read from
   text as drawings: nothing of it can run, and no style attribute is needed. */

/* Faces up to this width stand side by side on a phone. [px of the drawing] */
const NARROW = 260;
const SVG = "http://www.w3.org/2000/svg";

function made(name, attributes, words = "") {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (words) element.textContent = words;
  return element;
}

/* A figure for every plug that a task speaks of, its cavities marked by a heavy frame and the others pale. */
export function facesOf(task, plugs) {
  const keys = [...new Set(task.plugs.map((plug) => plug.key))].filter((key) => key in plugs);
  return keys.map((key) => {
    const face = plugs[key];
    const meant = task.plugs.filter((plug) => plug.key === key);
    const figure = document.createElement("figure");
    figure.className = "live-face";
    const drawing = document.importNode(new DOMParser().parseFromString(face.svg, "image/svg+xml").documentElement, true);
    figure.classList.toggle("live-face-broad", drawing.viewBox.baseVal.width > NARROW);
    mark(drawing, new Set(meant.map((plug) => plug.cavity)));
    const words = document.createElement("figcaption");
    const name = document.createElement("b");
    name.textContent = face.title;
    words.append(name, ` ${meant.map(({ cavity, net, seen }) => `cavity ${cavity}, ${net}: ${seen || face.view}`).join("; ")}`);
    figure.append(drawing, words);
    return figure;
  });
}

function mark(drawing, cavities) {
  const rings = [];
  for (const group of drawing.querySelectorAll("[data-cavity]")) {
    const here = cavities.has(group.dataset.cavity);
    group.classList.add(here ? "face-here" : "face-other");
    const box = here && group.querySelector("rect");
    if (!box) continue;
    const [x, y, width, height] = ["x", "y", "width", "height"].map((name) => Number(box.getAttribute(name)));
    rings.push(made("rect", { x: x - 3, y: y - 3, width: width + 6, height: height + 6, class: "face-ring" }));
  }
  // Last, so that no neighbour lies over the frame.
  drawing.append(...rings);
}

/* Hatching by the pattern of the page, where it has one for that colour; code and name are words beside it. */
export function fillBand(band, colour) {
  const pattern = document.getElementById(`bench-wire-${colour.code}`);
  const rect = made("rect", { width: "100%", height: "100%" });
  rect.setAttribute("fill", pattern ? `url(#${pattern.id}) ${colour.css}` : colour.css);
  band.replaceChildren(rect);
}
