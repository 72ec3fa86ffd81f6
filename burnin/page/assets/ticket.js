// A ticket's page: the repair, its runs side by side, its photos; a photo is added here.

import { mark, owed } from "/assets/board.js";
import {
  asked, by, head, inside, language, lines, listen, made, put, rows, say, show,
} from "/assets/source.js";

const ticket = asked.get("ticket") ?? "";
const pictures = new Map();

async function fetched(path, query) {
  const reply = await fetch(`${path}?${new URLSearchParams({ language, ticket, ...query })}`, { headers: head() });
  return reply.ok ? URL.createObjectURL(await reply.blob()) : null;
}

function facts(told) {
  const parts = told.flatMap(([label, text]) => [made("dt", "", label), made("dd", "", text)]);
  if (parts.map((part) => part.textContent).join("\n") === by("facts").dataset.told) return;
  by("facts").dataset.told = parts.map((part) => part.textContent).join("\n");
  by("facts").replaceChildren(...parts);
}

function runHead() {
  const cell = made("th");
  cell.scope = "col";
  cell.append(made("a", "inside"), made("span", "small"), made("span", "mark"));
  return cell;
}

function fillRunHead(cell, run) {
  const [link, title, word] = cell.children;
  put(link, run.began);
  inside(link, "/", { record: run.name });
  put(title, run.title);
  mark(word, run.word);
}

function runs(state) {
  show(by("no-runs"), state.runs.length === 0);
  show(by("runs"), state.runs.length > 0);
  say("runs-told", state.runs_told);
  const top = by("runs").tHead.rows[0];
  while (top.cells.length > state.runs.length + 1) top.lastElementChild.remove();
  state.runs.forEach((run, n) => {
    if (!top.cells[n + 1]) top.append(runHead());
    fillRunHead(top.cells[n + 1], run);
  });
  rows(by("runs").tBodies[0], state.stages, () => made("tr"), (line, stage) => {
    const cells = [stage.title, ...stage.marks];
    rows(line, cells, (cell) => made(typeof cell === "string" ? "th" : "td"), (element, cell) => {
      if (typeof cell !== "string") mark(element, cell);
      else { element.scope = "row"; put(element, cell); }
    });
  });
}

function photos(state) {
  show(by("no-photos"), state.photos.length === 0);
  say("more-photos", state.more_photos);
  const told = JSON.stringify(state.photos);
  if (by("photos").dataset.told === told) return;
  by("photos").dataset.told = told;
  by("photos").replaceChildren(...state.photos.map((photo) => {
    const line = made("li"), picture = made("img"), text = made("p", "", photo.text);
    picture.alt = photo.text;
    if (photo.gone) line.append(made("p", "gone", photo.gone));
    else line.append(picture);
    line.append(text);
    if (photo.for_customer) line.append(made("p", "small", photo.for_customer));
    if (!photo.gone) small(photo.file).then((address) => { if (address) picture.src = address; });
    return line;
  }));
}

function small(file) {
  if (!pictures.has(file)) pictures.set(file, fetched("/photo", { photo: file }));
  return pictures.get(file);
}

// A sheet is kept as a file: it is never opened at the address of this page.
async function keep(told) {
  const address = await fetched("/file", { of: told.of, file: told.name });
  if (address === null) return;
  const link = made("a");
  link.href = address;
  link.download = told.text;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

function sheets(state) {
  const told = [
    ...state.handed_over.map((file) => ({ ...file, shown: file.name })),
    ...state.runs.flatMap((run) => run.files.map((file) => ({ ...file, shown: `${run.began}: ${file.text}` }))),
  ];
  show(by("no-sheets"), told.length === 0);
  if (by("sheets").dataset.told === JSON.stringify(told)) return;
  by("sheets").dataset.told = JSON.stringify(told);
  by("sheets").replaceChildren(...told.map((file) => {
    const line = made("li"), button = made("button", "file", file.shown);
    button.type = "button";
    button.addEventListener("click", () => keep(file));
    line.append(button);
    return line;
  }));
}

function tell(state) {
  say("problem", state.gone);
  if (state.gone) return;
  put(by("head"), state.number);
  document.title = `${state.number} – ${state.word.text}`;
  by("word").dataset.kind = state.word.kind;
  put(by("word-text"), state.word.text);
  lines(by("marks"), state.marks, "span");
  owed(by("owed"), state.owed);
  say("next", state.next);
  facts(state.facts);
  runs(state);
  photos(state);
  sheets(state);
  lines(by("story"), state.story, "li");
  show(by("add"), !state.closed);
}

async function add() {
  const [file] = by("picture").files;
  if (!file) { by("picture").focus(); return; }
  show(by("sending"), true);
  by("send-photo").disabled = true;
  put(by("said"), "");
  try {
    const reply = await fetch(`/photo?${new URLSearchParams({ language, ticket })}`, {
      method: "POST",
      headers: {
        ...head(),
        "content-type": file.type || "image/jpeg",
        "burnin-photo-name": encodeURIComponent(file.name.slice(-100)),
        "burnin-photo-note": encodeURIComponent(by("note").value),
      },
      body: file,
    });
    put(by("said"), (await reply.json()).told);
    if (reply.ok) by("add").reset();
  } catch {
    put(by("said"), by("no-connection").textContent);
  }
  show(by("sending"), false);
  by("send-photo").disabled = false;
}

by("add").addEventListener("submit", (event) => { event.preventDefault(); add(); });
listen("/ticket/events", { ticket }, { ticket: tell });
