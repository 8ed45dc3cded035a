/* The harness is looked at closely and as a whole: buttons, wheel, drag, keys, two fingers. Without a script it scrolls. */

const STEP = 1.25;
const NEAREST = 4;
const PAN = 64;

const box = () => document.getElementById("sheet");
const drawing = () => box()?.querySelector("svg.drawing");

/* Size on the screen per unit of the drawing; null as long as the drawing follows the width by itself. */
let scale = null;
let bar = null;

function natural(svg) {
  const { width, height } = svg.viewBox.baseVal;
  return { width, height };
}

function shown(svg) {
  return svg.getBoundingClientRect().width / natural(svg).width;
}

/* The scale at which all of the drawing is in view. */
function whole(svg) {
  const view = box();
  const { width, height } = natural(svg);
  return Math.min((view.clientWidth - 2) / width, (view.clientHeight - 2) / height, NEAREST);
}

/* Sets the scale; the point of the drawing under x, y of the window stays where it is. */
function zoomTo(wanted, x, y) {
  const svg = drawing();
  if (!svg) return;
  const view = box();
  const frame = view.getBoundingClientRect();
  const before = svg.getBoundingClientRect();
  const at = { x: x ?? frame.left + frame.width / 2, y: y ?? frame.top + frame.height / 2 };
  const part = { x: (at.x - before.left) / before.width, y: (at.y - before.top) / before.height };
  scale = Math.min(Math.max(wanted, Math.min(whole(svg), 1)), NEAREST);
  size(svg);
  const after = svg.getBoundingClientRect();
  view.scrollLeft += after.left + part.x * after.width - at.x;
  view.scrollTop += after.top + part.y * after.height - at.y;
  tell();
}

function size(svg) {
  svg.style.maxWidth = "none";
  svg.style.minWidth = "0";
  svg.style.width = `${natural(svg).width * scale}px`;
  svg.style.height = `${natural(svg).height * scale}px`;
}

const closer = () => zoomTo(shown(drawing()) * STEP);
const farther = () => zoomTo(shown(drawing()) / STEP);
function all() {
  const svg = drawing();
  if (!svg) return;
  zoomTo(whole(svg));
  box().scrollTo(0, 0);
}

function tell() {
  const svg = drawing();
  if (!svg || !bar) return;
  const now = shown(svg);
  bar.querySelector("output").textContent = `${Math.round(now * 100)} %`;
  bar.querySelector("[data-zoom=in]").disabled = now >= NEAREST - 0.001;
  bar.querySelector("[data-zoom=out]").disabled = now <= Math.min(whole(svg), 1) + 0.001;
}

function button(act, label, name, run) {
  const made = document.createElement("button");
  made.type = "button";
  made.dataset.zoom = act;
  made.textContent = label;
  if (name) made.setAttribute("aria-label", name);
  made.addEventListener("click", run);
  return made;
}

/* A tall sheet shows forty runs at once without leaving the page. */
function tall(event) {
  const on = box().classList.toggle("tall");
  event.currentTarget.setAttribute("aria-pressed", String(on));
  tell();
}

function build(view) {
  bar = document.createElement("div");
  bar.className = "zoom screen-only";
  bar.setAttribute("role", "group");
  bar.setAttribute("aria-label", "Zoom of the harness");
  const told = document.createElement("output");
  bar.append(
    button("in", "+", "closer", closer),
    button("out", "−", "farther", farther),
    button("whole", "whole", "", all),
    button("tall", "taller", "", tall),
    told,
  );
  bar.querySelector("[data-zoom=tall]").setAttribute("aria-pressed", "false");
  view.before(bar);
  view.classList.add("can-pan");
  view.tabIndex = 0;
  view.setAttribute("role", "group");
  view.setAttribute("aria-label", "Harness: plus and minus zoom, 0 shows all of it, arrows move");
}

/* Dragging with the mouse or a pen moves the sheet; a finger scrolls it anyway. A drag is not a click on a run. */
let drag = null;
let dragged = false;

function listen(view) {
  view.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1;
    zoomTo(shown(drawing()) * Math.exp(-event.deltaY * lines * 0.0025), event.clientX, event.clientY);
  }, { passive: false });

  view.addEventListener("pointerdown", (event) => {
    dragged = false;
    if (event.pointerType === "touch" || event.button !== 0) return;
    drag = { x: event.clientX, y: event.clientY, left: view.scrollLeft, top: view.scrollTop };
  });
  window.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const by = { x: event.clientX - drag.x, y: event.clientY - drag.y };
    if (!dragged && Math.hypot(by.x, by.y) < 5) return;
    dragged = true;
    view.classList.add("panning");
    view.scrollLeft = drag.left - by.x;
    view.scrollTop = drag.top - by.y;
  });
  for (const end of ["pointerup", "pointercancel"]) window.addEventListener(end, () => {
    drag = null;
    view.classList.remove("panning");
  });
  view.addEventListener("dragstart", (event) => event.preventDefault());
  view.addEventListener("click", (event) => {
    if (!dragged) return;
    dragged = false;
    event.preventDefault();
    event.stopPropagation();
  }, { capture: true });

  view.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || !drawing()) return;
    const arrows = { ArrowLeft: [-PAN, 0], ArrowRight: [PAN, 0], ArrowUp: [0, -PAN], ArrowDown: [0, PAN] };
    const acts = { "+": closer, "=": closer, "-": farther, "0": all };
    if (event.key in acts) acts[event.key]();
    else if (event.key in arrows) {
      const still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
      const [left, top] = arrows[event.key];
      view.scrollBy({ left, top, behavior: still ? "instant" : "smooth" });
    } else return;
    event.preventDefault();
  });
  pinch(view);
}

/* Two fingers: their distance sets the scale, their middle carries the drawing along. */
function pinch(view) {
  let held = null;
  const measure = ({ touches: [a, b] }) => ({
    wide: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY),
    x: (a.clientX + b.clientX) / 2,
    y: (a.clientY + b.clientY) / 2,
  });
  view.addEventListener("touchstart", (event) => {
    if (event.touches.length !== 2) return;
    event.preventDefault();
    held = { ...measure(event), scale: shown(drawing()) };
  }, { passive: false });
  view.addEventListener("touchmove", (event) => {
    if (!held || event.touches.length !== 2) return;
    event.preventDefault();
    const now = measure(event);
    view.scrollLeft -= now.x - held.x;
    view.scrollTop -= now.y - held.y;
    held.x = now.x;
    held.y = now.y;
    zoomTo(held.scale * now.wide / held.wide, now.x, now.y);
  }, { passive: false });
  for (const end of ["touchend", "touchcancel"]) view.addEventListener(end, (event) => {
    if (event.touches.length < 2) held = null;
  });
}

/* A swap brings a new drawing: it is shown as large as the one before it, and at the same place. */
let place = { left: 0, top: 0 };
function again() {
  const svg = drawing();
  if (!svg) return;
  if (scale !== null && !svg.style.width) {
    size(svg);
    box().scrollTo(place.left, place.top);
  }
  tell();
}

const sheet = box();
if (sheet) {
  build(sheet);
  listen(sheet);
  tell();
  document.addEventListener("htmx:before:swap", () => {
    place = { left: box().scrollLeft, top: box().scrollTop };
  });
  document.addEventListener("htmx:after:swap", again);
  window.addEventListener("resize", tell);
}
