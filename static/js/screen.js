/* What the pages do better with a script; everything works without one. */
import "./zoom.js";
import "./slow.js";
import "./unsaved.js";

const status = () => document.getElementById("status");

/* A change made while the one before is still being saved was made from what that one saves: it is this same tab, so
   it goes on top of it. A conflict on screen is somebody else's doing and is never stepped over. */
document.addEventListener("htmx:before:request", (event) => {
  const { request } = event.detail.ctx;
  if (!(request.body instanceof URLSearchParams) || document.getElementById("conflict")) return;
  const shown = document.querySelector("#work input[name=revision]");
  if (shown && request.body.has("revision") && Number(shown.value) > Number(request.body.get("revision"))) {
    request.body.set("revision", shown.value);
  }
  /* Ticks at the bench likewise: quick taps of one thumb follow each other, each on top of the one before. */
  const ledger = document.querySelector("#ledger input[name=base]");
  if (ledger && request.body.has("base") && Number(ledger.value) > Number(request.body.get("base"))) {
    request.body.set("base", ledger.value);
  }
});

/* The drawing is the largest part of an answer: one that is on screen already is not sent again. */
document.addEventListener("htmx:config:request", (event) => {
  const key = document.getElementById("sheet-key")?.dataset.key;
  if (key) event.detail.ctx.request.headers["Sheet-Shown"] = key;
});

/* Runs in the drawing are plain links; with a script they open below the sheet without a new page. */
document.addEventListener("click", (event) => {
  const link = event.target.closest("#sheet a[href]");
  if (!link || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
  if (!document.getElementById("title-block") || !window.htmx) return;
  const href = link.getAttribute("href");
  /* A card is one place on a long page, which the browser finds by itself. */
  if (href.includes("#")) return;
  event.preventDefault();
  window.htmx.ajax("GET", href, { target: "#work", swap: "innerHTML", push: href });
});

/* After a swap: the first wrong field, or what stands in the way, gets the focus; a panel out of sight comes into it. */
document.addEventListener("htmx:after:swap", (event) => {
  // A piece that follows what is being typed must not take the focus away from it.
  if (["path-live", "label-live"].includes(event.detail.ctx?.target?.id)) return;
  revealPrint();
  const work = document.getElementById("work");
  const banner = work?.querySelector("#conflict, .banner-stop");
  const wrong = work?.querySelector("[aria-invalid=true]");
  if (wrong) wrong.focus();
  else if (banner) banner.scrollIntoView({ block: "center" });
  else if (document.activeElement === document.body) work?.focus({ preventScroll: true });
  if (!work || banner || wrong) return;
  const { top, bottom } = work.getBoundingClientRect();
  if (top > window.innerHeight - 160 || bottom < 160) work.scrollIntoView({ block: "start" });
});

/* An answer that never came is said where saving is said. */
document.addEventListener("htmx:error", () => {
  const line = status();
  if (!line) return;
  line.dataset.tone = "stop";
  line.textContent = "Not saved: the planner does not answer. What you typed is still here.";
});
document.addEventListener("htmx:before:swap", () => status()?.removeAttribute("data-tone"));

/* Buttons that only a script can serve are shown only with one. */
function revealPrint() {
  for (const button of document.querySelectorAll("[data-print][hidden]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
  for (const field of document.querySelectorAll("[data-select]")) field.select();
}
revealPrint();

/* The run that is open is brought into sight in the drawing, which scrolls in a box of its own. */
function showSelected() {
  const box = document.getElementById("sheet");
  const run = box?.querySelector("a.selected");
  if (!run) return;
  const view = box.getBoundingClientRect();
  const place = run.getBoundingClientRect();
  if (place.top < view.top || place.bottom > view.bottom) box.scrollTop += place.top - view.top - 40;
}
function showPlace() {
  const here = document.querySelector("#rail [aria-current]");
  const rail = document.getElementById("rail");
  if (here && rail && rail.scrollWidth > rail.clientWidth) rail.scrollLeft = here.offsetLeft - 16;
}
for (const show of [showSelected, showPlace]) {
  show();
  document.addEventListener("htmx:after:swap", show);
}

/* Printing a page with folded details would hide what was asked for: they are opened for the paper. */
window.addEventListener("beforeprint", () => {
  for (const fold of document.querySelectorAll("#work .pins")) fold.open = true;
});
