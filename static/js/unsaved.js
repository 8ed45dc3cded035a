/* What was typed and not saved: asked about before a link replaces it, carried over when a neighbouring form is saved. */

const ASK = "What you typed here is not saved. Leave it and go on?";

const isBox = (field) => field.type === "checkbox" || field.type === "radio";

function isChanged(field) {
  if (field.type === "hidden" || field.tagName === "BUTTON" || field.tagName === "FIELDSET") return false;
  if (isBox(field)) return field.checked !== field.defaultChecked;
  if (field.tagName !== "SELECT") return field.value !== field.defaultValue;
  const options = [...field.options];
  if (!options.some((option) => option.defaultSelected)) return field.selectedIndex > 0;
  return options.some((option) => option.selected !== option.defaultSelected);
}

/* Fields that differ from what the server sent, outside one form. What stands in the conflict's own form is sent by it. */
function changedFields(except = null) {
  const forms = [...document.querySelectorAll('#work form[method="post"]')];
  const own = forms.filter((form) => form !== except && !form.closest("#conflict"));
  return own.flatMap((form) => [...form.elements].filter(isChanged));
}

/* A refused form shows what was typed as it came back: nothing in it differs, and still nothing of it is saved. */
const isRefused = () => document.querySelector("#work > .banner-stop, #work [data-unsaved], #conflict") !== null;
/* Asked about on the pages of a build, and on any page with a form marked data-guard. */
const isGuarded = () => document.querySelector("#title-block, #work form[data-guard]") !== null;
/* A form that is being sent takes its own fields along; on a guarded page it is the one form that holds what was typed. */
const isUnsaved = (sent = null) =>
  isGuarded() && ((!sent?.matches("[data-guard]") && isRefused()) || changedFields(sent).length > 0);

document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href]");
  if (!link || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
  const swaps = link.hasAttribute("hx-get") || link.closest("#sheet");
  if (!swaps || link.closest("#conflict") || !isUnsaved() || window.confirm(ASK)) return;
  event.preventDefault();
  event.stopImmediatePropagation();
}, true);

/* The form that the browser itself is about to send; one that htmx sends is prevented before it gets here. */
let sent = null;
window.addEventListener("submit", (event) => {
  sent = event.defaultPrevented ? null : event.target;
});
window.addEventListener("beforeunload", (event) => {
  if (isUnsaved(sent)) event.preventDefault();
  sent = null;
});

/* Saving one form of a panel renders the whole panel anew: what was typed in the others is put back into it. */
let carried = [];
document.addEventListener("htmx:before:request", (event) => {
  const source = event.detail.ctx.sourceElement;
  carried = source?.tagName === "FORM" ? changedFields(source).map(remembered) : [];
});
document.addEventListener("htmx:after:swap", () => {
  for (const { find, value, checked } of carried) {
    const field = find();
    if (!field) continue;
    if (isBox(field)) field.checked = checked;
    else field.value = value;
    field.closest("details")?.setAttribute("open", "");
  }
  carried = [];
});

function remembered(field) {
  const { id, name, value, checked } = field;
  const same = (other) => (id ? other.id === id : other.name === name && other.value === value);
  const find = () => [...document.querySelectorAll("#work input, #work select, #work textarea")].find(same);
  return { find, value, checked };
}
