/* An answer that takes longer than a moment is waited for out loud: a large roll plan is solved for up to some seconds. */

const MOMENT_MS = 700;
let timer = 0;

const line = () => document.getElementById("status");

function say() {
  if (!line()) return;
  line().dataset.tone = "wait";
  line().textContent = "Working: the rolls are being planned …";
}

function stop() {
  window.clearTimeout(timer);
  if (line()?.dataset.tone !== "wait") return;
  line().removeAttribute("data-tone");
  line().textContent = "";
}

document.addEventListener("htmx:before:request", () => {
  window.clearTimeout(timer);
  timer = window.setTimeout(say, MOMENT_MS);
});
for (const end of ["htmx:before:swap", "htmx:after:request", "htmx:error"]) document.addEventListener(end, stop);
