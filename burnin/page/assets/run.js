// The page of a run: puts in place what the page's process tells of it.

import { Course } from "/assets/plot.js";
import { prompt } from "/assets/prompt.js";
import { asked, bar, by, lines, listen, made, put, rows, say, send, show } from "/assets/source.js";

const course = new Course(by("plot"));
const record = asked.get("record");
let shown = null;

function figure(name, told) {
  const place = by(name);
  put(place.querySelector(".value"), told.value);
  put(place.querySelector(".unit"), told.unit);
  bar(place.querySelector("progress"), told.share);
  lines(place.querySelector(".lines"), told.lines, "li");
  place.classList.toggle("alarm", told.alarm);
}

function stage() {
  const line = made("li");
  line.append(made("span"), made("span", "mark"));
  return line;
}

function fillStage(line, row) {
  line.dataset.kind = row.kind;
  if (row.kind === "now") line.setAttribute("aria-current", "step");
  else line.removeAttribute("aria-current");
  put(line.children[0], row.title);
  put(line.children[1], row.word);
}

function tell(state) {
  if (shown !== null && shown.run !== state.run) put(by("said"), "");
  shown = state;
  if (state.head.length) {
    put(by("head"), state.head.join(" · "));
    document.title = `${state.word.text} – ${state.head[0]}`;
  }
  say("banner", state.banner);
  say("problem", state.problem);
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
  rows(by("stages"), state.stages, stage, fillStage);
  prompt(state.prompt, state.run);
  by("stop").disabled = !state.can_stop;
  course.tell(state);
}

by("stop").addEventListener("click", () => shown && send("/stop", { run: shown.run }));
listen(
  "/events",
  record === null ? {} : { record },
  { course: (news) => course.take(news), state: tell },
  (is) => { if (!is) by("stop").disabled = true; },
);
