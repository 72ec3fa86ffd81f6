// The board: open tickets, the most urgent first.

import { by, inside, lines, listen, made, put, rows, say, show } from "/assets/source.js";

export function mark(element, told) {
  element.dataset.kind = told.kind;
  put(element, told.text);
}

export function owed(list, told) {
  rows(list, told, () => made("li"), mark);
}

function ticket() {
  return by("ticket").content.firstElementChild.cloneNode(true);
}

function fill(line, told) {
  const part = (name) => line.querySelector(name);
  line.dataset.kind = told.word.kind;
  line.classList.toggle("late", told.late);
  put(part(".number"), told.number);
  inside(part(".number"), "/ticket", { ticket: told.name });
  put(part(".card-name"), told.card);
  lines(part(".marks"), told.marks, "span");
  mark(part(".mark"), told.word);
  owed(part(".owed"), told.owed);
  put(part(".next"), told.next);
  show(part(".next"), told.next !== "");
}

function tell(state) {
  put(by("count"), state.count);
  say("nothing", state.nothing);
  say("more", state.more);
  lines(by("faults"), state.faults, "li");
  show(by("faults"), state.faults.length > 0);
  rows(by("tickets"), state.tickets, ticket, fill);
}

if (document.body.dataset.page === "board") listen("/board/events", {}, { board: tell });
