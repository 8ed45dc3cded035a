/* Black on white in the glare, white on black in the dark, or as the device has it; remembered on this device. */

const NAME = "bench light";

export function followLight() {
  const buttons = [...document.querySelectorAll("[data-light]")].filter((one) => one.tagName === "BUTTON");
  const choose = (light) => {
    document.documentElement.dataset.light = light;
    for (const button of buttons) button.setAttribute("aria-pressed", String(button.dataset.light === light));
  };
  for (const button of buttons) {
    button.addEventListener("click", () => {
      choose(button.dataset.light);
      remember(button.dataset.light);
    });
  }
  choose(remembered());
}

function remembered() {
  try {
    return window.localStorage.getItem(NAME) ?? "";
  } catch {
    return "";
  }
}

function remember(light) {
  try {
    window.localStorage.setItem(NAME, light);
  } catch {
    // Kept for this page alone.
  }
}
