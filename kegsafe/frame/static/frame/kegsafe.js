// Comfort on top of pages that work without it: choice of colours, forms sent once, the phone's
// sheet, folds opened for paper.
(function () {
  "use strict";

  const COLOUR_WORDS = { device: "as the device", light: "light", dark: "dark" };

  function offerColours() {
    const colours = window.kegsafeColours;
    const buttons = document.querySelectorAll("[data-theme-switch]");
    const name = () =>
      buttons.forEach((button) => {
        const words = button.querySelector("[data-theme-name]");
        words.textContent = `Colours: ${COLOUR_WORDS[colours.choice()]}`;
      });
    buttons.forEach((button) => {
      button.hidden = false;
      button.addEventListener("click", () => {
        colours.choose(colours.names[(colours.names.indexOf(colours.choice()) + 1) % colours.names.length]);
        name();
      });
    });
    name();
  }

  function markSent(form, sent) {
    form.toggleAttribute("data-sent", sent);
    form.querySelectorAll("button[type=submit]").forEach((button) => {
      button.disabled = sent;
      button.classList.toggle("is-sending", sent);
    });
  }

  function sendOnce(event) {
    const form = event.target;
    if (form.method !== "post" || event.defaultPrevented) return;
    if (form.hasAttribute("data-sent")) event.preventDefault();
    // Only once the browser has read the form, or the pressed button's own value is lost.
    else window.setTimeout(() => markSent(form, true));
  }

  function unfoldForPaper() {
    document.querySelectorAll("main details:not([open])").forEach((fold) => {
      fold.open = true;
      fold.dataset.unfolded = "";
    });
  }

  function foldAgain() {
    document.querySelectorAll("main details[data-unfolded]").forEach((fold) => {
      fold.open = false;
      delete fold.dataset.unfolded;
    });
  }

  function closeSheet(event) {
    const sheet = document.querySelector(".nav-more details[open]");
    if (!sheet || (event.type === "click" && sheet.contains(event.target))) return;
    if (event.type === "keydown" && event.key !== "Escape") return;
    sheet.open = false;
    if (event.type === "keydown") sheet.querySelector("summary").focus();
  }

  offerColours();
  document.querySelector("[data-error-summary]")?.focus();
  document.addEventListener("submit", sendOnce);
  document.addEventListener("click", closeSheet);
  document.addEventListener("keydown", closeSheet);
  window.addEventListener("beforeprint", unfoldForPaper);
  window.addEventListener("afterprint", foldAgain);
  // Going back finds the form as it was left: ready to be sent.
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) document.querySelectorAll("form[data-sent]").forEach((form) => markSent(form, false));
  });
})();
