// The open prompt: what is asked, and the controls that its answer takes.

import { by, put, say, send, show } from "/assets/source.js";

const buttons = [by("yes"), by("no"), by("done"), by("skip")];
let asked = null;
let answering = false;
// A finger on its way to a question that was answered elsewhere must not press the next one's.
const SETTLE_MS = 700;

// `told` null: nothing is asked. `run`: whose question it is.
export function prompt(told, run) {
  show(by("prompt"), told !== null);
  if (told === null) { asked = null; return; }
  const isNew = asked === null || asked.number !== told.number || asked.run !== run;
  const isInPlaceOfAnother = isNew && asked !== null && !answering;
  asked = { number: told.number, run };
  put(by("prompt-text"), told.text);
  put(by("prompt-left"), told.left);
  put(by("prompt-place"), told.place);
  put(by("prompt-of"), told.of ?? "");
  for (const name of ["wrong", "good"]) say(`prompt-${name}`, told[name]);
  const labels = Object.fromEntries(told.buttons);
  for (const button of buttons) {
    show(button, button.id in labels);
    if (button.id in labels) put(button, labels[button.id]);
  }
  put(by("value-label"), told.field);
  show(by("typed"), told.field !== "");
  if (isNew) {
    // What was not understood stays, so that a slip is mended and not typed anew.
    if (told.wrong === "") by("value").value = "";
    closed(isInPlaceOfAnother);
    if (isInPlaceOfAnother) setTimeout(() => closed(false), SETTLE_MS);
    put(by("said"), "");
    if (answering) (told.field !== "" ? by("value") : buttons.find((one) => !one.hidden))?.focus();
    answering = false;
  }
}

function closed(is) {
  for (const control of [...buttons, by("send"), by("value")]) control.disabled = is;
}

async function answer(text) {
  if (asked === null) return;
  answering = true;
  closed(true);
  const taken = await send("/answer", { run: asked.run, prompt: asked.number, answer: text });
  if (!taken) closed(false);
}

for (const button of buttons) {
  button.addEventListener("click", () => answer(button.dataset.answer));
}
by("typed").addEventListener("submit", (event) => {
  event.preventDefault();
  const text = by("value").value.trim();
  if (text) answer(text);
  else by("value").focus();
});
