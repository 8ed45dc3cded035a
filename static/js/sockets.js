/* Faster hands on the drawing of a socket: pick a net once and press cavities; arrow keys walk while one is picked.
   Without this script every cavity is a list to pick from, in the order of its number. */

const palette = document.getElementById("palette");
let brush = null;

function pick(button) {
  brush = button && !("stop" in button.dataset) ? button.dataset.net : null;
  for (const each of palette.querySelectorAll("[aria-pressed]")) {
    each.setAttribute("aria-pressed", String(each === button && brush !== null));
  }
  document.body.classList.toggle("painting", brush !== null);
}

function paint(select) {
  select.value = brush;
  select.dispatchEvent(new Event("change", { bubbles: true }));
}

function neighbour(cavity, columns, rows) {
  const wanted = { column: Number(cavity.dataset.column) + columns, row: Number(cavity.dataset.row) + rows };
  const found = cavity.parentElement.querySelector(`[data-column="${wanted.column}"][data-row="${wanted.row}"]`);
  return found?.querySelector("select");
}

if (palette) {
  palette.hidden = false;
  palette.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button) pick(button.getAttribute("aria-pressed") === "true" ? null : button);
  });
  document.addEventListener("mousedown", (event) => {
    const cavity = event.target.closest("[data-socket] .cavity");
    if (brush === null || !cavity || event.button !== 0) return;
    event.preventDefault();
    const select = cavity.querySelector("select");
    select.focus();
    paint(select);
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && brush !== null) return pick(null);
    const cavity = event.target.closest?.("[data-socket] .cavity");
    if (brush === null || !cavity) return;
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    if (event.key in steps) {
      event.preventDefault();
      neighbour(cavity, ...steps[event.key])?.focus();
    } else if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      paint(cavity.querySelector("select"));
    }
  });
}

for (const button of document.querySelectorAll("[data-print][hidden]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}

/* A refused form leads to its first marked field. */
document.querySelector("[aria-invalid=true]")?.focus();
