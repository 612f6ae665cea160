// A drink measured in a place ticks the place. A tick that somebody set stays when the field empties.
(function () {
  "use strict";

  document.querySelectorAll("[data-place-row]").forEach((row) => {
    const tick = row.querySelector("input[type=checkbox]");
    const drink = row.querySelector("input[type=text]");
    if (!tick || !drink) return;
    let isTickedByTyping = false;
    tick.addEventListener("change", () => (isTickedByTyping = false));
    drink.addEventListener("input", () => {
      if (drink.value && !tick.checked) tick.checked = isTickedByTyping = true;
      else if (!drink.value && isTickedByTyping) tick.checked = isTickedByTyping = false;
    });
  });
})();
