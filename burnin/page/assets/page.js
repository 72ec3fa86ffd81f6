// Puts in place what the page's process tells. Every word comes worded; text is only ever text.

import { Course } from "/assets/plot.js";

const TRY_AGAIN_MS = 2000;
const by = (id) => document.getElementById(id);
const key = location.hash.slice(1);
const language = document.body.dataset.language;
const course = new Course(by("plot"));
let shown = null;
const buttons = [by("yes"), by("no"), by("done"), by("skip")];
let asked = null;
let answering = false;

function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function show(element, wanted) {
  if (element.hidden === wanted) element.hidden = !wanted;
}

function lines(parent, texts, tag) {
  if (parent.childElementCount === texts.length
      && texts.every((text, n) => parent.children[n].textContent === text)) return;
  parent.replaceChildren(...texts.map((text) => {
    const line = document.createElement(tag);
    line.textContent = text;
    return line;
  }));
}

function bar(element, share) {
  show(element, share !== null);
  if (share !== null) element.value = Math.min(1, Math.max(0, share));
}

function figure(name, told) {
  const place = by(name);
  put(place.querySelector(".value"), told.value);
  put(place.querySelector(".unit"), told.unit);
  bar(place.querySelector("progress"), told.share);
  lines(place.querySelector(".lines"), told.lines, "li");
  place.classList.toggle("alarm", told.alarm);
}

function stages(rows) {
  const list = by("stages");
  while (list.childElementCount > rows.length) list.lastElementChild.remove();
  rows.forEach((row, n) => {
    let line = list.children[n];
    if (!line) {
      line = document.createElement("li");
      const title = document.createElement("span"), mark = document.createElement("span");
      mark.className = "mark";
      line.append(title, mark);
      list.append(line);
    }
    line.dataset.kind = row.kind;
    if (row.kind === "now") line.setAttribute("aria-current", "step");
    else line.removeAttribute("aria-current");
    put(line.children[0], row.title);
    put(line.children[1], row.word);
  });
}

function prompt(told) {
  show(by("prompt"), told !== null);
  if (told === null) { asked = null; return; }
  const isNew = asked === null || asked.number !== told.number || asked.run !== shown.run;
  asked = { number: told.number, run: shown.run };
  put(by("prompt-text"), told.text);
  put(by("prompt-left"), told.left);
  put(by("prompt-place"), told.place);
  for (const name of ["wrong", "good"]) {
    put(by(`prompt-${name}`), told[name]);
    show(by(`prompt-${name}`), told[name] !== "");
  }
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
    closed(false);
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

function tell(state) {
  if (shown !== null && shown.run !== state.run) put(by("said"), "");
  shown = state;
  if (state.head.length) {
    put(by("head"), state.head.join(" · "));
    document.title = `${state.word.text} – ${state.head[0]}`;
  }
  put(by("banner"), state.banner);
  show(by("banner"), state.banner !== "");
  put(by("problem"), state.problem);
  show(by("problem"), state.problem !== "");
  put(by("word-title"), state.word_title);
  by("word").dataset.kind = state.word.kind;
  put(by("word-text"), state.word.text);
  lines(by("word-lines"), state.word.lines, "p");
  put(by("stage-name"), state.stage.title);
  put(by("stage-place"), state.stage.place);
  bar(by("stage-share"), state.stage.share);
  put(by("left"), state.left);
  for (const [name, told] of Object.entries(state.figures)) figure(name, told);
  lines(by("notices"), state.notices, "li");
  show(by("notices"), state.notices.length > 0);
  stages(state.stages);
  prompt(state.prompt);
  by("stop").disabled = !state.can_stop;
  course.tell(state);
}

async function send(place, content) {
  try {
    const reply = await fetch(`${place}?language=${language}`, {
      method: "POST",
      headers: { "content-type": "application/json", authorization: `Bearer ${key}` },
      body: JSON.stringify(content),
    });
    put(by("said"), (await reply.json()).told);
    return reply.ok;
  } catch {
    connected(false);
    return false;
  }
}

function connected(is) {
  show(by("no-connection"), !is);
  document.body.classList.toggle("old", !is);
  if (!is) by("stop").disabled = true;
}

async function keyFits() {
  try {
    const reply = await fetch(`/events`, { method: "HEAD", headers: { authorization: `Bearer ${key}` } });
    return reply.status !== 401;
  } catch {
    return true;
  }
}

function listen() {
  const source = new EventSource(`/events?language=${language}&key=${encodeURIComponent(key)}`);
  source.addEventListener("open", () => connected(true));
  source.addEventListener("course", (event) => course.take(JSON.parse(event.data)));
  source.addEventListener("state", (event) => { connected(true); tell(JSON.parse(event.data)); });
  source.addEventListener("error", async () => {
    connected(false);
    if (source.readyState !== EventSource.CLOSED) return;
    const fits = await keyFits();
    show(by("need-key"), !fits);
    if (fits) setTimeout(listen, TRY_AGAIN_MS);
  });
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
by("stop").addEventListener("click", () => shown && send("/stop", { run: shown.run }));
addEventListener("hashchange", () => location.reload());
if (by("language")) by("language").hash = key;
if (key) listen();
else show(by("need-key"), true);
