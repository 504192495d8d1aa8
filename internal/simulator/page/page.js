// The demo page: panes that are phones, a clock, and one stream of all messages.
import { element, startCode } from "./sheet.js";
import { Phone } from "./phone.js";

const $ = (q, from = document) => from.querySelector(q);
const narrow = matchMedia("(max-width: 719.98px)");

const page = {
  state: null,
  lang: document.documentElement.lang,
  chats: new Map(), // chat -> Map of place -> message
  phones: [],
  unread: new Map(), // chat -> number of the bot's messages that nobody saw
  live: false, // what comes is new, not history
  word(key, lang = this.lang) {
    return this.state.words[lang]?.[key] || this.state.words[this.lang]?.[key] || key;
  },
  seat(chat) {
    return this.state.seats.find((s) => s.chat === chat);
  },
  messages(chat) {
    if (!this.chats.has(chat)) this.chats.set(chat, new Map());
    return this.chats.get(chat);
  },
  seatName(seat) {
    if (seat.name) return seat.name;
    const unnamed = this.state.seats.filter((s) => !s.name);
    const name = this.word("demo.new_phone");
    return unnamed.length > 1 ? `${name} ${unnamed.indexOf(seat) + 1}` : name;
  },
  langName(code) {
    return this.state.langs.find((l) => l.code === code)?.autonym || code;
  },
  // startWith puts a code into the hands of somebody who has not joined yet, as a
  // link does on a messenger.
  startWith(code) {
    const seat = this.state.seats.find((s) => s.role === "new");
    if (!seat) return notice("demo.failed");
    let i = this.phones.findIndex((p) => p.chat === seat.chat && p.visible());
    if (i < 0) i = this.phones.findLastIndex((p) => p.visible());
    if (this.phones[i].chat !== seat.chat) this.phones[i].choose(seat.chat);
    this.phones[i].write(`/start ${code}`);
  },
  post,
};

// post sends JSON to the page's own server; it gives the HTTP status, or 0 when the
// server was not reached.
async function post(path, body) {
  try {
    const r = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    return r.status;
  } catch {
    return 0;
  }
}

// --- the page's own words -------------------------------------------------------

function applyWords() {
  const l = page.state.langs.find((x) => x.code === page.lang);
  document.documentElement.lang = page.lang;
  document.documentElement.dir = l ? l.dir : "ltr";
  document.title = page.word("demo.title");
  for (const e of document.querySelectorAll("[data-word]")) e.textContent = page.word(e.dataset.word);
  for (const e of document.querySelectorAll("[data-label]")) e.setAttribute("aria-label", page.word(e.dataset.label));
  showClock(page.state.clock);
  showSeats();
}

function fillLangs() {
  const select = $("#lang");
  for (const l of page.state.langs) {
    const o = element("option", "", l.autonym);
    o.value = o.lang = l.code;
    o.dir = l.dir;
    select.append(o);
  }
  select.value = page.lang;
  select.addEventListener("change", () => {
    page.lang = select.value;
    const u = new URL(location.href);
    u.searchParams.set("lang", page.lang);
    history.replaceState(null, "", u);
    applyWords();
  });
}

let noticeTimer;
function notice(key) {
  const n = $("#notice");
  n.textContent = key ? page.word(key) : "";
  clearTimeout(noticeTimer);
  if (key && key !== "demo.lost") noticeTimer = setTimeout(() => (n.textContent = ""), 6000);
}

// --- the clock ------------------------------------------------------------------

function showClock(c) {
  page.state.clock = c;
  const now = $("#now");
  now.textContent = c.stamps[page.lang] || c.at;
  now.dateTime = c.at;
  $(".moves").hidden = !c.moves;
  $("#shift").hidden = !c.shift;
  $("#shift time").textContent = c.shift;
}

async function work(button, path, body) {
  if (button.getAttribute("aria-disabled") === "true") return;
  button.setAttribute("aria-disabled", "true");
  const status = await post(path, body);
  button.removeAttribute("aria-disabled");
  notice(status === 204 ? "demo.done" : "demo.failed");
}

function wireClock() {
  for (const b of document.querySelectorAll("[data-minutes]")) {
    b.addEventListener("click", () => work(b, "clock", { minutes: Number(b.dataset.minutes) }));
  }
  const shift = $("#shift");
  shift.addEventListener("click", () => work(shift, "clock", { shift: true }));
  $("#custom").addEventListener("submit", (ev) => {
    ev.preventDefault();
    const minutes = $("#custom input").valueAsNumber;
    if (!Number.isInteger(minutes) || minutes < 1) return notice("demo.only_on");
    work($("#custom button"), "clock", { minutes });
  });
  const group = $(".controls");
  group.hidden = page.state.controls.length === 0;
  for (const c of page.state.controls) {
    const b = element("button");
    b.type = "button";
    b.dataset.word = c.word;
    b.addEventListener("click", () => work(b, "control", { id: c.id }));
    group.append(b);
  }
  const open = (yes) => {
    $("#works").hidden = !yes;
    $("#clock").setAttribute("aria-expanded", String(yes));
  };
  $("#clock").addEventListener("click", () => open($("#works").hidden));
  open(!narrow.matches);
}

// --- the phones -----------------------------------------------------------------

function choosePhones() {
  let kept = [];
  try {
    kept = JSON.parse(sessionStorage.getItem("phones")) || [];
  } catch {
    // A viewer who keeps nothing starts with the first phones.
  }
  const all = page.state.seats.map((s) => s.chat);
  const first = (role) => page.state.seats.find((s) => s.role === role)?.chat;
  const wanted = [...kept, first("carer"), first("coordinator"), ...all];
  const chosen = [...new Set(wanted.filter((c) => all.includes(c)))].slice(0, 3);
  for (const chat of chosen) page.phones.push(new Phone(page, chat, keepPhones));
  $("#panes").append(...page.phones.map((p) => p.root));
}

function keepPhones() {
  try {
    sessionStorage.setItem("phones", JSON.stringify(page.phones.map((p) => p.chat)));
  } catch {
    // As above.
  }
  showSeats();
}

function showSeats() {
  for (const p of page.phones) p.showSeats();
  showTabs();
}

let active = 0;
function showTabs() {
  const tabs = $("#tabs");
  while (tabs.children.length < page.phones.length) {
    const i = tabs.children.length;
    const b = element("button");
    b.type = "button";
    b.append(element("span", "name"), element("span", "count"), element("span", "hidden"));
    b.addEventListener("click", () => {
      active = i;
      showTabs();
      page.phones[i].seen();
    });
    tabs.append(b);
  }
  page.phones.forEach((p, i) => {
    const b = tabs.children[i];
    const seat = page.seat(p.chat);
    // The plate below has the whole name.
    $(".name", b).textContent = seat ? (seat.name ? seat.name.split(/\s/)[0] : page.seatName(seat)) : "…";
    b.setAttribute("aria-pressed", String(i === active));
    p.root.classList.toggle("active", i === active);
    const unread = page.unread.get(p.chat) || 0;
    $(".count", b).hidden = unread === 0;
    $(".count", b).textContent = unread;
    $(".hidden", b).textContent = page.word("demo.new_messages");
  });
}

// --- the stream -----------------------------------------------------------------

function place(m) {
  const all = page.messages(m.chat);
  const fresh = page.live && !m.own && !all.has(m.n);
  if (m.gone) all.delete(m.n);
  else all.set(m.n, m);
  if (all.size > page.state.history) all.delete(Math.min(...all.keys()));
  for (const p of page.phones) if (p.chat === m.chat) p.show(m);
  if (fresh && !page.phones.some((p) => p.chat === m.chat && p.visible())) {
    page.unread.set(m.chat, (page.unread.get(m.chat) || 0) + 1);
    showSeats();
  }
}

function listen() {
  const stream = new EventSource("events");
  stream.addEventListener("hello", (ev) => {
    notice("");
    if (!JSON.parse(ev.data).fresh) return;
    page.live = false;
    page.chats.clear();
    page.unread.clear();
    for (const p of page.phones) p.showAll();
  });
  stream.addEventListener("message", (ev) => place(JSON.parse(ev.data)));
  stream.addEventListener("clock", (ev) => {
    if (!page.live) for (const p of page.phones) p.atNewest();
    page.live = true; // the clock comes after what was missed
    showClock(JSON.parse(ev.data));
  });
  stream.addEventListener("seats", (ev) => {
    page.state.seats = JSON.parse(ev.data);
    showSeats();
  });
  stream.addEventListener("error", () => {
    notice("demo.lost");
    // A browser gives up for good when the answer was not a stream.
    if (stream.readyState === EventSource.CLOSED) setTimeout(listen, 3000);
  });
}

// A wider window shows more phones, and what is on them counts as seen.
addEventListener("resize", () => {
  for (const p of page.phones) if (p.visible() && page.unread.has(p.chat)) p.seen();
});

async function begin() {
  try {
    page.state = await (await fetch("state")).json();
  } catch {
    setTimeout(begin, 2000);
    return;
  }
  if (!page.state.words[page.lang]) page.lang = page.state.langs[0].code;
  fillLangs();
  wireClock();
  choosePhones();
  applyWords();
  listen();
  const code = startCode(location.href);
  if (!code) return;
  const u = new URL(location.href);
  u.searchParams.delete("start");
  history.replaceState(null, "", u);
  page.startWith(code);
}

begin();
