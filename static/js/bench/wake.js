/* Keeps the screen on while the page is looked at, where the browser allows that; says in words where it does not. */

const WORDS = {
  on: "This screen stays on while the page is open.",
  missing:
    "This browser does not let a page keep the screen on. Set a longer time until the screen goes dark in the device’s settings.",
  insecure:
    "Over a connection that is not encrypted (http) no browser lets a page keep the screen on. Set a longer time until the screen goes dark in the device’s settings; a tap wakes nothing that is not lost.",
  refused:
    "The device does not keep the screen on now, perhaps because its battery is low. Charge it, or tap the page again.",
};

export function keepAwake(tell) {
  let held = null;
  let asking = false;

  async function ask() {
    if (held || asking || document.visibilityState !== "visible") return;
    asking = true;
    try {
      held = await navigator.wakeLock.request("screen");
      held.addEventListener("release", () => {
        held = null;
      });
      tell("on", WORDS.on);
    } catch {
      tell("off", WORDS.refused);
    } finally {
      asking = false;
    }
  }

  if (!("wakeLock" in navigator)) {
    tell("off", window.isSecureContext ? WORDS.missing : WORDS.insecure);
    return;
  }
  // The browser lets go of it whenever the page is out of sight; some allow it only after a first tap.
  document.addEventListener("visibilitychange", ask);
  document.addEventListener("click", ask);
  ask();
}
