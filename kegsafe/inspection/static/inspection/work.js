// Asks how far a pack is, and shows the page anew once it is made. Without this a link on the
// page does the same.
(function () {
  "use strict";

  const work = document.querySelector("[data-work]");
  if (!work) return;
  const part = work.querySelector("[data-work-part]");
  const progress = work.querySelector("progress");

  async function look() {
    try {
      const answer = await fetch(work.dataset.work, { headers: { Accept: "application/json" } });
      if (!answer.ok || answer.redirected) return;
      const state = await answer.json();
      if (!state.is_under_way) {
        window.location.reload();
        return;
      }
      if (state.part) part.textContent = state.part;
      progress.max = state.parts || 1;
      progress.value = state.done;
    } catch {
      // No connection: ask again.
    }
  }

  window.setInterval(look, 2000);
})();
