// Keeps what was typed on this device until it is recorded, so that a dead network or an ended
// session costs nobody their words. sessionStorage: one tab, gone when the tab is closed.
(function () {
  "use strict";

  const PREFIX = "kegsafe.draft:";
  const NEVER_KEPT = ["password", "file", "hidden"];
  const keyOf = (index) => `${PREFIX}${window.location.pathname}#${index}`;
  const isChoice = (field) => field.type === "checkbox" || field.type === "radio";
  const keptFields = (form) =>
    [...form.elements].filter((field) => field.name && !NEVER_KEPT.includes(field.type));

  function inStore(act) {
    try {
      return act(window.sessionStorage);
    } catch {
      return null; // storage is full or forbidden: the page works all the same
    }
  }

  const read = (key) => inStore((store) => JSON.parse(store.getItem(key)));
  const write = (key, draft) => inStore((store) => store.setItem(key, JSON.stringify(draft)));
  const forget = (key) => inStore((store) => store.removeItem(key));
  const draftKeys = () => inStore((store) => Object.keys(store).filter((key) => key.startsWith(PREFIX))) || [];

  function typed(form) {
    const values = {};
    for (const field of keptFields(form)) {
      if (isChoice(field) && !field.checked) continue;
      if (field.value) (values[field.name] ??= []).push(field.value);
    }
    return values;
  }

  function putBack(form, values) {
    for (const field of keptFields(form)) {
      const kept = values[field.name] || [];
      if (isChoice(field)) field.checked = kept.includes(field.value);
      else if (kept.length) field.value = kept.shift();
    }
  }

  function say(form, sentence, acts = []) {
    form.previousElementSibling?.matches(".draft-offer") && form.previousElementSibling.remove();
    const box = document.createElement("div");
    box.className = "draft-offer";
    box.setAttribute("role", "alert");
    const words = document.createElement("p");
    words.textContent = sentence;
    box.append(words);
    for (const [label, act] of acts) {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "btn btn-secondary";
      button.textContent = label;
      button.addEventListener("click", () => {
        act();
        box.remove();
      });
      box.append(button);
    }
    form.before(box);
  }

  // A page reached from the form it sent, with no mistake in it, means that the words arrived.
  // The sign-in page means that they did not.
  function forgetWhatArrived() {
    if (!document.body.classList.contains("with-navigation") || !document.referrer) return;
    const from = new URL(document.referrer).pathname;
    const here = window.location.pathname;
    if (from === here && !document.querySelector(".notice-success")) return;
    for (const key of draftKeys()) {
      if (key.startsWith(`${PREFIX}${from}#`) && read(key)?.sent) forget(key);
    }
  }

  function offer(form, key) {
    const draft = read(key);
    if (!draft) return;
    write(key, { ...draft, sent: false });
    const unchanged = JSON.stringify(draft.values) === JSON.stringify(typed(form));
    if (unchanged || form.querySelector("[data-error-summary]")) return;
    say(form, "This form was left before it was recorded. What was typed is still on this device.", [
      ["Put it back", () => putBack(form, draft.values)],
      ["Drop it", () => forget(key)],
    ]);
  }

  function send(event, form, key) {
    write(key, { values: typed(form), sent: true });
    if (navigator.onLine) return;
    event.preventDefault();
    say(
      form,
      "No network: nothing was recorded. What you typed stays here. Send it again when this device is back on the network."
    );
  }

  forgetWhatArrived();
  document.querySelectorAll("form[data-keeps-draft]").forEach((form, index) => {
    const key = keyOf(index);
    offer(form, key);
    form.addEventListener("input", () => write(key, { values: typed(form), sent: false }));
    form.addEventListener("submit", (event) => send(event, form, key));
    form.querySelectorAll(".form-acts a").forEach((way) => way.addEventListener("click", () => forget(key)));
  });
  document.querySelectorAll("form[data-forgets-drafts]").forEach((form) => {
    form.addEventListener("submit", () => draftKeys().forEach(forget));
  });
})();
