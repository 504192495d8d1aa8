// One message as elements. All text goes in through textContent: what a person or
// the bot wrote is never markup.

export function element(tag, cls, text) {
  const e = document.createElement(tag);
  if (cls) e.className = cls;
  if (text !== undefined) e.textContent = text;
  return e;
}

function setLang(e, lang, dir) {
  if (lang) e.lang = lang;
  if (dir) e.dir = dir;
}

const telephone = /^\+?\d{2,6}(?: \d{2,5}){1,3}$/;

// fill sets a text, and keeps a short word such as S-014 on one line, and a telephone
// number: half a label is another label.
function fill(e, text) {
  for (const part of text.split(/([\p{L}\p{N}]{1,8}(?:[-/.][\p{L}\p{N}]{1,8}){1,2}|\+?\d{2,6}(?: \d{2,5}){1,3})/u)) {
    const whole = (part.length <= 14 && /[-/]/.test(part) && /\p{N}/u.test(part) && !/\s/.test(part)) || telephone.test(part);
    e.append(whole ? element("span", "label", part) : part);
  }
  return e;
}

function paragraph(p) {
  const style = p.style || "plain";
  if (style === "quote") {
    const q = element("blockquote", "quote");
    const t = fill(element("p"), p.text);
    setLang(q, p.lang, p.dir);
    q.append(t);
    return q;
  }
  const e = element("p", style);
  setLang(e, p.lang, p.dir);
  if (style === "alert") {
    const sign = element("span", "sign", "!");
    sign.setAttribute("aria-hidden", "true");
    e.append(sign, fill(element("strong"), p.text));
  } else if (style === "strong") {
    e.append(fill(element("strong"), p.text));
  } else {
    fill(e, p.text);
  }
  return e;
}

function webAddress(url) {
  try {
    const u = new URL(url, location.href);
    return u.protocol === "https:" || u.protocol === "http:" ? u.href : "";
  } catch {
    return "";
  }
}

// startCode is the code in a link to this very page, or empty.
export function startCode(url) {
  const u = new URL(url, location.href);
  const code = u.searchParams.get("start") || "";
  const here = u.origin === location.origin && u.pathname === location.pathname;
  return here && /^[A-Za-z0-9_-]{1,64}$/.test(code) ? code : "";
}

function choice(c, press, start) {
  const href = c.url && webAddress(c.url);
  if (href && !startCode(href)) {
    const a = element("a", "choice", c.label);
    a.href = href;
    a.target = "_blank";
    a.rel = "noopener noreferrer";
    return a;
  }
  const b = element("button", "choice", c.label);
  b.type = "button";
  if (href) b.addEventListener("click", () => start(startCode(href)));
  else if (c.url) b.disabled = true;
  else b.addEventListener("click", () => press(b, c.data));
  return b;
}

function picture(paper, p) {
  if (!p) return;
  const img = element("img");
  img.src = p.src;
  img.alt = p.alt;
  if (p.width) {
    img.width = p.width;
    img.height = p.height;
  }
  paper.append(img);
}

// sheet makes the element of a message m. word gives the phone's words; press is
// called with the button and the opaque data of a choice, start with the code of a
// link to this page.
export function sheet(m, word, press, start) {
  const e = element("article", m.own ? "entry own" : "entry bot");
  e.tabIndex = -1;
  const stamp = element("p", "stamp");
  const who = element("span", "by", word(m.own ? "demo.you" : "demo.bot"));
  const time = element("time", "", m.time);
  time.dateTime = `${m.day}T${m.time}`;
  stamp.append(who, time);
  if (m.chosen) {
    const chosen = element("span", "chosen", m.chosen);
    chosen.dir = "auto";
    stamp.append(chosen);
  }
  if (m.waiting) stamp.append(element("span", "waiting", word("demo.waiting")));
  const paper = element("div", "paper");
  e.append(stamp, paper);

  if (m.own) {
    const p = element("p", m.pressed ? "pressed" : m.file ? "file" : "said", m.file || m.text);
    p.dir = "auto";
    if (m.pressed && !m.text) p.textContent = "…";
    if (m.size) {
      const size = element("span", "size", `${Math.max(1, Math.round(m.size / 1024))} kB`);
      size.dir = "ltr";
      p.append(" ", size);
    }
    paper.append(p);
    return e;
  }

  if (m.lang) setLang(paper, m.lang, m.dir);
  else paper.dir = "auto";
  // The picture comes after the answer in words, and after everything where the words
  // begin with a warning: that must be read before anything is scrolled.
  const body = m.body || [];
  let first = body.findIndex((p) => p.style !== "strong");
  if (first < 0 || body[0].style === "alert") first = body.length;
  body.forEach((p, i) => {
    if (i === first) picture(paper, m.picture);
    paper.append(paragraph(p));
  });
  if (first >= body.length) picture(paper, m.picture);
  if (m.choices) {
    const rows = element("div", "choices");
    for (const r of m.choices) {
      const row = element("div", "row");
      for (const c of r) row.append(choice(c, press, start));
      rows.append(row);
    }
    paper.append(rows);
  }
  return e;
}
