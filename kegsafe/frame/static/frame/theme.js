// Runs in the head, before anything is painted: which colours count, the device's or a person's.
(function () {
  "use strict";

  const KEY = "kegsafe.colours";
  const MEDIA = { device: "screen and (prefers-color-scheme: dark)", light: "not all", dark: "screen" };
  const device = window.matchMedia("(prefers-color-scheme: dark)");

  function choice() {
    try {
      const kept = window.localStorage.getItem(KEY);
      return kept in MEDIA ? kept : "device";
    } catch {
      return "device"; // storage may be forbidden; the page works all the same
    }
  }

  function apply() {
    const now = choice();
    const dark = now === "dark" || (now === "device" && device.matches);
    document.documentElement.dataset.bsTheme = dark ? "dark" : "light";
    document.getElementById("dark-sheet").media = MEDIA[now];
  }

  function choose(next) {
    try {
      window.localStorage.setItem(KEY, next);
    } catch {
      return;
    }
    apply();
  }

  device.addEventListener("change", apply);
  apply();
  window.kegsafeColours = { choice, choose, names: Object.keys(MEDIA) };
})();
