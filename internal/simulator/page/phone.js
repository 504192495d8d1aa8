// One pane: a member of the team's phone, with its messages and what it can send.
import { element, sheet } from "./sheet.js";

const near = 60; // pixels that still count as the end of the log
const hold = 400; // milliseconds that a press waits for an answer in its own place
const twice = 500; // milliseconds within which a second press is the first one's echo

export class Phone {
  constructor(page, chat, chosen) {
    this.page = page;
    this.chat = chat;
    this.chosen = chosen;
    this.follow = true;
    this.top = null; // the message to keep in sight while its answers come
    this.last = -Infinity; // when the latest message came
    this.held = null; // a press that may be answered in the place of its message
    this.asked = ""; // the message on which this viewer pressed last
    this.sending = Promise.resolve();
    this.failed = null;
    this.shown = new Map(); // place -> element

    const t = document.getElementById("pane").content.cloneNode(true);
    this.root = t.querySelector(".pane");
    const $ = (q) => this.root.querySelector(q);
    this.name = $("h2");
    this.about = $(".about");
    this.who = $(".who");
    this.phone = $(".phone");
    this.log = $(".log");
    this.newest = $(".newest");
    this.notice = $(".phone .notice");
    this.input = $("textarea");
    this.file = $("input[type=file]");
    const id = `phone-${Math.random().toString(36).slice(2)}`;
    this.name.id = id;
    this.root.setAttribute("aria-labelledby", id);
    this.input.maxLength = page.state.maxText;

    this.who.addEventListener("change", () => this.choose(this.who.value));
    this.log.addEventListener("scroll", () => this.scrolled(), { passive: true });
    this.newest.addEventListener("click", () => {
      this.atNewest();
      this.log.focus();
    });
    $(".composer").addEventListener("submit", (ev) => {
      ev.preventDefault();
      this.sendText();
    });
    this.input.addEventListener("keydown", (ev) => {
      this.enter = ev.key === "Enter" && !ev.shiftKey && !ev.isComposing;
      if (!this.enter) return;
      ev.preventDefault();
      this.sendText();
    });
    this.input.addEventListener("input", () => this.turn());
    // Some keyboards bring the line break by itself, after the key.
    this.input.addEventListener("beforeinput", (ev) => {
      if (this.enter && ev.inputType === "insertLineBreak") ev.preventDefault();
    });
    this.file.addEventListener("change", () => this.sendFile());
    this.showAll();
  }

  word(key) {
    return this.page.word(key, this.page.seat(this.chat)?.lang);
  }

  choose(chat) {
    this.chat = chat;
    this.failed = null;
    this.fill("");
    this.notice.textContent = "";
    this.page.unread.delete(chat);
    this.showSeats();
    this.showAll();
    this.chosen();
  }

  // showSeats writes the plate and the phone's own words; a seat's language may have
  // changed.
  showSeats() {
    const { page } = this;
    const iso = (s) => `\u2068${s}\u2069`;
    const options = page.state.seats.map((s) => {
      const parts = [page.seatName(s), this.role(s), page.langName(s.lang)].filter(Boolean).map(iso);
      const unread = page.unread.get(s.chat);
      if (unread) parts.push(`${iso(page.word("demo.new_messages"))}: ${unread}`);
      const o = element("option", "", parts.join(" · "));
      o.value = s.chat;
      return o;
    });
    // A list that is open must not be taken away for nothing.
    const same = (o, i) => o.isEqualNode(this.who.options[i]);
    if (options.length !== this.who.length || !options.every(same)) this.who.replaceChildren(...options);
    this.who.value = this.chat;
    const seat = page.seat(this.chat);
    this.root.classList.toggle("gone", !seat);
    if (!seat) {
      this.about.textContent = "";
      return;
    }
    this.name.textContent = page.seatName(seat);
    this.about.replaceChildren(element("span", "role", this.role(seat)));
    if (seat.lang) {
      const lang = element("bdi", "", page.langName(seat.lang));
      lang.lang = seat.lang;
      this.about.append(" · ", lang);
    }
    // A phone without a language has the page's.
    const moved = this.phone.lang !== (seat.lang || page.lang);
    this.phone.lang = seat.lang || page.lang;
    this.phone.dir = seat.lang ? seat.dir : document.documentElement.dir;
    this.turn();
    for (const e of this.root.querySelectorAll("[data-phone]")) e.textContent = this.word(e.dataset.phone);
    this.log.setAttribute("aria-label", this.word("demo.messages"));
    this.file.parentElement.title = this.word("demo.attach");
    this.input.placeholder = this.word("demo.write");
    if (moved) this.showAll();
  }

  role(seat) {
    return this.page.word(`demo.role_${seat.role}`);
  }

  showAll() {
    this.log.setAttribute("aria-busy", "true");
    this.shown.clear();
    this.log.replaceChildren();
    this.held = null;
    const all = [...this.page.messages(this.chat).values()].sort((a, b) => a.n - b.n);
    for (const m of all) this.put(m);
    this.frame();
    this.atNewest();
    this.log.removeAttribute("aria-busy");
  }

  // show puts a new message below the others, and a changed one where it was. A press
  // is held back a moment: if its answer takes the place of the message it was on, the
  // press itself never shows.
  show(m) {
    if (m.gone) return this.drop(m.n);
    const isNew = !this.shown.has(m.n);
    if (m.own && m.pressed && isNew && this.page.live) {
      if (this.held?.n !== m.n) {
        this.release();
        setTimeout(() => this.held?.n === m.n && this.release(), hold);
      }
      this.held = m;
      return;
    }
    if (isNew) this.release();
    this.place(m, isNew);
  }

  release() {
    const m = this.held;
    this.held = null;
    if (m) this.place(m, true);
  }

  drop(n) {
    if (this.held?.n === n) this.held = null;
    this.shown.get(n)?.remove();
    this.shown.delete(n);
    this.frame();
  }

  place(m, isNew) {
    const e = this.put(m);
    this.frame();
    if (!isNew) {
      if (!m.own && m.ref === this.asked) {
        this.top = e;
        this.follow = true;
      }
      if (this.follow) this.toEnd();
      return;
    }
    const now = performance.now();
    const longOwn = this.top?.matches(".own") && this.top.offsetHeight > this.log.clientHeight * 0.4;
    if (m.own || now - this.last > 4000 || longOwn || !this.top?.isConnected) this.top = e;
    this.last = now;
    if (m.own) this.follow = true;
    if (this.follow) this.toEnd();
    else if (!m.own) this.newest.hidden = false;
  }

  put(m) {
    const old = this.shown.get(m.n);
    if (old && m.own) {
      // Only this can change; a new element would be read out a second time.
      if (!m.waiting) old.querySelector(".waiting")?.remove();
      return old;
    }
    const e = sheet(
      m,
      (key) => this.word(key),
      (button, data) => this.press(button, m.ref, data),
      (code) => this.page.startWith(code),
    );
    e.dataset.n = m.n;
    e.dataset.day = m.day;
    if (old) {
      const buttons = [...old.querySelectorAll(".choice")];
      const at = buttons.indexOf(document.activeElement);
      const inside = old.contains(document.activeElement);
      old.replaceWith(e);
      // The second half of a double press must not answer the next question.
      settle(e);
      // A person at the keyboard keeps their place when the message is replaced.
      if (inside) (e.querySelectorAll(".choice")[at] || e.querySelector(".choice") || e).focus({ preventScroll: true });
      if (this.top === old) this.top = e;
    } else {
      let before = null;
      let after = this.log.lastElementChild;
      while (after && (!after.dataset.n || Number(after.dataset.n) > m.n)) {
        before = after;
        after = after.previousElementSibling;
      }
      this.log.insertBefore(e, before);
    }
    for (const img of e.querySelectorAll("img")) img.addEventListener("load", () => this.follow && this.toEnd());
    this.shown.set(m.n, e);
    if (this.shown.size > this.page.state.history) {
      const n = Math.min(...this.shown.keys());
      this.shown.get(n).remove();
      this.shown.delete(n);
    }
    return e;
  }

  // frame writes the days between the messages, or what stands where there are none.
  frame() {
    let day = "";
    for (const e of [...this.log.children]) {
      if (e.className === "day") e.remove();
      else if (e.dataset.day && e.dataset.day !== day) {
        day = e.dataset.day;
        e.before(element("p", "day", this.dayName(day)));
      }
    }
    const old = this.log.querySelector(".empty");
    if (this.shown.size > 0) {
      old?.remove();
      return;
    }
    if (old) old.remove();
    const e = element("div", "empty");
    const b = element("button", "choice", this.word("demo.begin"));
    b.type = "button";
    b.addEventListener("click", () => {
      this.input.focus();
      this.say({ kind: "text", text: "/start" });
    });
    e.append(element("p", "", this.word("demo.empty")), b);
    this.log.append(e);
  }

  // dayName writes a day as the phone's language does, in the digits of all its words.
  dayName(day) {
    try {
      const f = new Intl.DateTimeFormat(`${this.phone.lang}-u-nu-latn`, { weekday: "long", day: "numeric", month: "long", timeZone: "UTC" });
      return f.format(new Date(`${day}T00:00Z`));
    } catch {
      return day;
    }
  }

  visible() {
    return this.root.offsetParent !== null;
  }

  // turn has the box follow what is written; empty, it runs as the phone does.
  turn() {
    this.input.dir = this.input.value ? "auto" : this.phone.dir;
  }

  // fill puts a text into the box.
  fill(text) {
    this.input.value = text;
    this.turn();
  }

  // seen is for when the phone comes into sight.
  seen() {
    this.page.unread.delete(this.chat);
    if (this.follow) this.toEnd();
    this.chosen();
  }

  // write puts a text where it can be sent, without sending it.
  write(text) {
    this.fill(text);
    this.input.focus();
  }

  // toEnd scrolls down, but not past the message that the new ones answer: its first
  // lines are to be read first. What then begins out of sight is pointed to.
  toEnd() {
    const end = this.log.scrollHeight - this.log.clientHeight;
    const top = this.top?.isConnected ? this.top.offsetTop - 4 : end;
    this.auto = Math.max(0, Math.min(end, top));
    this.log.scrollTop = this.auto;
    this.newest.hidden = this.begun();
  }

  // atNewest shows the newest message from its beginning.
  atNewest() {
    this.follow = true;
    this.top = this.log.lastElementChild;
    this.toEnd();
  }

  // begun tells whether the beginning of the newest message is in sight, or above it.
  begun() {
    const last = this.log.lastElementChild;
    return !last || last.offsetTop < this.log.scrollTop + this.log.clientHeight - near;
  }

  scrolled() {
    const { scrollTop, scrollHeight, clientHeight } = this.log;
    if (scrollTop >= scrollHeight - clientHeight - near) {
      this.follow = true;
    } else if (scrollTop < (this.auto ?? 0) - near) {
      this.follow = false;
    }
    if (this.begun()) this.newest.hidden = true;
  }

  // say posts one message, after those before it. Its id stays the same at a second
  // try, so that the bot takes it once.
  say(body, id = newID()) {
    const message = { chat: this.chat, id, lang: this.phone.lang, ...body };
    const done = this.sending.then(() => this.page.post("say", message));
    this.sending = done.catch(() => 0);
    return done.then((status) => {
      const ok = status === 202;
      this.notice.textContent = ok ? "" : this.word("demo.not_sent");
      return ok;
    });
  }

  async sendText() {
    const text = this.input.value;
    if (!text.trim()) return;
    const again = this.failed?.text === text && this.failed.chat === this.chat;
    const id = again ? this.failed.id : newID();
    const chat = this.chat;
    this.failed = null;
    this.fill("");
    if (await this.say({ kind: "text", text }, id)) return;
    this.failed = { text, id, chat };
    if (!this.input.value && this.chat === chat) this.fill(text);
  }

  async press(button, message, choice) {
    if (button.getAttribute("aria-disabled") === "true" || button.closest(".settling")) return;
    button.setAttribute("aria-disabled", "true");
    settle(button.closest(".entry"));
    this.asked = message;
    await this.say({ kind: "choice", message, choice });
    button.removeAttribute("aria-disabled");
  }

  async sendFile() {
    const f = this.file.files[0];
    this.file.value = "";
    if (!f) return;
    if (f.size > this.page.state.maxFile) {
      // The bot is told, and answers in the person's language.
      await this.say({ kind: "other", name: f.name });
      return;
    }
    const url = await new Promise((resolve) => {
      const r = new FileReader();
      r.onload = () => resolve(r.result);
      r.onerror = () => resolve("");
      r.readAsDataURL(f);
    });
    await this.say({ kind: "file", name: f.name, data: url.slice(url.indexOf(",") + 1) });
  }
}

// settle makes the choices of a message dead for a moment.
function settle(e) {
  e.classList.add("settling");
  setTimeout(() => e.classList.remove("settling"), twice);
}

function newID() {
  const b = crypto.getRandomValues(new Uint8Array(16));
  return [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
}
