// Counts down what the server started: the page's own clock only says how long it has been open.
(function () {
  "use strict";

  const two = (number) => String(number).padStart(2, "0");

  function inWords(seconds) {
    const whole = Math.ceil(seconds);
    return `${Math.floor(whole / 60)}:${two(whole % 60)}`;
  }

  function show(timer, opened) {
    const now = Date.parse(timer.dataset.now) + (Date.now() - opened);
    const done = Date.parse(timer.dataset.done);
    const tooLong = timer.dataset.tooLong ? Date.parse(timer.dataset.tooLong) : null;
    const words = timer.querySelector("[data-timer-left]");
    if (done === Date.parse(timer.dataset.started)) return;
    if (now < done) words.textContent = `${inWords((done - now) / 1000)} to go`;
    else if (tooLong !== null && now > tooLong) words.textContent = "It stands too long: take it out now";
    else words.textContent = `Long enough, by ${inWords((now - done) / 1000)}`;
    timer.classList.toggle("is-done", now >= done);
  }

  document.querySelectorAll("[data-timer]").forEach((timer) => {
    const opened = Date.now();
    show(timer, opened);
    window.setInterval(() => show(timer, opened), 500);
  });

  // Another phone may have gone on meanwhile: what was long out of sight is looked up again.
  let hiddenSince = null;
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) hiddenSince = Date.now();
    else if (hiddenSince !== null && Date.now() - hiddenSince > 60000) {
      const typed = [...document.querySelectorAll("main form input:not([type=hidden])")].some(
        (field) => field.value !== field.defaultValue
      );
      if (!typed) window.location.reload();
    }
  });
})();
