// What all pages share: the key, how they listen to what changes, and how text is put in its place.
// Every word comes worded; text is only ever text.

const TRY_AGAIN_MS = 2000;
export const by = (id) => document.getElementById(id);
export const key = location.hash.slice(1);
export const language = document.body.dataset.language;
export const asked = new URLSearchParams(location.search);

export function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export function show(element, wanted) {
  if (element.hidden === wanted) element.hidden = !wanted;
}

export function say(id, text) {
  put(by(id), text);
  show(by(id), text !== "");
}

export function made(tag, className = "", text = "") {
  const element = document.createElement(tag);
  if (className) element.className = className;
  if (text) element.textContent = text;
  return element;
}

export function lines(parent, texts, tag) {
  if (parent.childElementCount === texts.length
      && texts.every((text, n) => parent.children[n].textContent === text)) return;
  parent.replaceChildren(...texts.map((text) => made(tag, "", text)));
}

export function bar(element, share) {
  show(element, share !== null);
  if (share !== null) element.value = Math.min(1, Math.max(0, share));
}

// As many children as there are rows, each made once and then filled again and again.
export function rows(parent, told, make, fill) {
  while (parent.childElementCount > told.length) parent.lastElementChild.remove();
  told.forEach((row, n) => {
    if (!parent.children[n]) parent.append(make(row));
    fill(parent.children[n], row);
  });
}

export function inside(link, path, more = {}) {
  const query = new URLSearchParams({ language, ...more });
  const address = `${path}?${query}#${key}`;
  if (link.getAttribute("href") !== address) link.setAttribute("href", address);
}

export function head() {
  return { authorization: `Bearer ${key}` };
}

export async function send(place, content) {
  try {
    const reply = await fetch(`${place}?language=${language}`, {
      method: "POST",
      headers: { "content-type": "application/json", ...head() },
      body: JSON.stringify(content),
    });
    put(by("said"), (await reply.json()).told);
    return reply.ok;
  } catch {
    connected(false);
    return false;
  }
}

let whenConnected = () => {};

function connected(is) {
  show(by("no-connection"), !is);
  document.body.classList.toggle("old", !is);
  whenConnected(is);
}

async function keyFits() {
  try {
    const reply = await fetch(`/events`, { method: "HEAD", headers: head() });
    return reply.status !== 401;
  } catch {
    return true;
  }
}

// Listens until the page is left; `hears`: what is done with each kind of event.
export function listen(path, more, hears, connection = () => {}) {
  whenConnected = connection;
  if (!key) {
    show(by("need-key"), true);
    return;
  }
  const query = new URLSearchParams({ language, key, ...more });
  const source = new EventSource(`${path}?${query}`);
  source.addEventListener("open", () => connected(true));
  for (const [kind, hear] of Object.entries(hears)) {
    source.addEventListener(kind, (event) => { connected(true); hear(JSON.parse(event.data)); });
  }
  source.addEventListener("error", async () => {
    connected(false);
    if (source.readyState !== EventSource.CLOSED) return;
    const fits = await keyFits();
    show(by("need-key"), !fits);
    if (fits) setTimeout(() => listen(path, more, hears, connection), TRY_AGAIN_MS);
  });
}

addEventListener("hashchange", () => location.reload());
for (const link of document.querySelectorAll("a.inside")) link.hash = key;
if (by("language")) {
  const there = new URL(location.href);
  there.searchParams.set("language", by("language").hreflang);
  by("language").href = there.href;
}
