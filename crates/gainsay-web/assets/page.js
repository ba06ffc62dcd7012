// What the page can't do without a script: figures beside sliders that move, figures to copy, forms that are not lost when nobody
// answers, pages that follow what changes elsewhere. Without it everything else still works.
"use strict";

const words = {
  copy: "Copy",
  copied: "Copied",
  silent: "Gainsay does not answer. What you have typed is still here: start it again, then save again.",
  silentPage: "Gainsay does not answer. This page shows how things stood.",
  typed: "The file has been changed elsewhere, while you were typing here. Nothing is lost.",
  both: "Show both",
  moved: "Something has been changed elsewhere.",
  again: "Show it as it is now",
};

const news = document.getElementById("news");

function tell(text, name, does) {
  news.replaceChildren();
  if (!text) return;
  const line = document.createElement("p");
  line.textContent = text + " ";
  if (name) line.append(button(name, does));
  news.append(line);
}

function button(name, does) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = name;
  made.addEventListener("click", does);
  return made;
}

// Sliders.
document.addEventListener("input", (event) => {
  const slider = event.target;
  if (slider.type !== "range") return;
  const output = slider.parentElement.querySelector("output");
  if (!output) return;
  const unit = output.textContent.trim().split(" ").pop();
  const decimals = slider.step.includes(".") ? 2 : 0;
  output.textContent = Number(slider.value).toFixed(decimals).replace("-", "\u2212") + " " + unit;
});

// What-ifs: the answer is put in place as it comes, since every millisecond is seen. A later question takes the place of one that is
// still open. A wide window needs no narrow picture; where it becomes narrow, both are asked for. When the hand rests, the address
// follows, and with it the figures that are unfolded.
const wide = matchMedia("screen and (min-width: 48.02rem)");
const answered = document.createElement("template");
let open = null;
let rest = null;
document.addEventListener("input", async (event) => {
  const form = event.target.closest("form[data-what-if]");
  if (!form) return;
  open?.abort();
  clearTimeout(rest);
  const mine = new AbortController();
  open = mine;
  const asked = new URLSearchParams(new FormData(form));
  const query = new URLSearchParams([...asked].filter(([, value]) => value !== ""));
  const address = `${form.action}?${query}`;
  if (wide.matches) query.set("only", "wide");
  try {
    const answer = await fetch(`${form.dataset.whatIf}?${query}`, { signal: mine.signal });
    const text = await answer.text();
    if (!answer.ok || mine !== open) return;
    answered.innerHTML = text;
    addCopying(answered.content);
    become(document.getElementById("seen"), answered.content);
    rest = setTimeout(() => settle(address, mine.signal), 250);
  } catch (error) {
    if (error.name !== "AbortError") tell(words.silentPage);
  }
});
wide.addEventListener("change", () => {
  if (!wide.matches && !document.querySelector("#seen .picture.narrow")) {
    document.querySelector("form[data-what-if]")?.dispatchEvent(new Event("input", { bubbles: true }));
  }
});

async function settle(address, signal) {
  history.replaceState(null, "", address);
  try {
    const answer = await fetch(address, { signal });
    const other = new DOMParser().parseFromString(await answer.text(), "text/html");
    const now = other.getElementById("unfolded");
    if (answer.ok && now) become(document.getElementById("unfolded"), now);
  } catch (error) {
    if (error.name !== "AbortError") tell(words.silentPage);
  }
}

// Gives an element the content of another and touches only what differs: what is unfolded, chosen or in focus stays so, and a
// picture in which a few lines move is drawn again in less time.
function become(old, now) {
  let at = old.firstChild;
  for (let next = now.firstChild, after; next; next = after) {
    after = next.nextSibling;
    let like = at;
    while (like && like.nodeName !== next.nodeName) like = like.nextSibling;
    if (!like) {
      old.insertBefore(next, at);
      continue;
    }
    while (at !== like) at = remove(at);
    if (next.nodeType === Node.ELEMENT_NODE) {
      for (const { name, value } of next.attributes) if (at.getAttribute(name) !== value) at.setAttribute(name, value);
      for (const { name } of [...at.attributes]) if (!next.hasAttribute(name) && name !== "open") at.removeAttribute(name);
      become(at, next);
    } else if (at.data !== next.data) {
      at.data = next.data;
    }
    at = at.nextSibling;
  }
  while (at) at = remove(at);
}

function remove(node) {
  const next = node.nextSibling;
  node.remove();
  return next;
}

// Figures to copy: the value and its unit, without interval and origin behind it.
function addCopying(within) {
  for (const place of within.querySelectorAll("dl.figures dd:not(:has(button))")) {
    const text = place.textContent.trim();
    const interval = /\s+\([^)]*\)/g;
    const figure = text.replace(interval, "").replace(/\s+/g, " ").trim();
    if (!/\d/.test(figure)) continue;
    const name = place.previousElementSibling?.textContent ?? "";
    const made = document.createElement("button");
    made.type = "button";
    made.className = "copy";
    made.textContent = words.copy;
    made.dataset.figure = figure;
    made.setAttribute("aria-label", `${words.copy}: ${name}, ${figure}`);
    place.append(" ", made);
  }
}

document.addEventListener("click", async (event) => {
  const copy = event.target.closest("button.copy");
  if (!copy) return;
  await navigator.clipboard.writeText(copy.dataset.figure);
  copy.textContent = words.copied;
  setTimeout(() => (copy.textContent = words.copy), 1500);
});

// Forms in which something is typed are sent so that a program that does not answer takes nothing with it.
document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-typed]")) return;
  event.preventDefault();
  await send(form, event.submitter);
});

async function send(form, submitter, more) {
  const data = new URLSearchParams(new FormData(form, submitter));
  if (more) data.append(...more.split("="));
  try {
    const answer = await fetch(form.action, { method: "POST", body: data });
    const text = await answer.text();
    tell("");
    if (answer.redirected) location.assign(answer.url);
    else show(text, true);
  } catch {
    tell(words.silent);
  }
}

// Puts another state of the page in the place of this one.
function show(text, toTop) {
  const other = new DOMParser().parseFromString(text, "text/html");
  const main = document.querySelector("main");
  const open = [...main.querySelectorAll("details")].map((details) => details.open);
  main.replaceChildren(...other.querySelector("main").childNodes);
  document.title = other.title;
  if (toTop) {
    scrollTo(0, 0);
    main.focus();
  } else {
    const all = [...main.querySelectorAll("details")];
    if (all.length === open.length) all.forEach((details, index) => (details.open = open[index]));
  }
  window.htmx?.process(main);
  addCopying(main);
}

// Whether something stands in a field that the page did not put there.
function isTyped(form) {
  return [...form.elements].some((field) => {
    if (field instanceof HTMLSelectElement) {
      const first = [...field.options].findIndex((option) => option.defaultSelected);
      return field.selectedIndex !== Math.max(first, 0);
    }
    // A range snaps to its steps by itself.
    if (field.type === "range") return Math.abs(field.value - field.defaultValue) > 0.51 * field.step;
    if (field.type === "checkbox") return field.checked !== field.defaultChecked;
    return field.type !== "hidden" && "defaultValue" in field && field.value !== field.defaultValue;
  });
}

// What changes elsewhere, as long as somebody looks.
let revision = null;
let failed = 0;

async function follow() {
  if (document.hidden) return;
  let now;
  try {
    const answer = await fetch("/revision");
    if (!answer.ok) return;
    now = await answer.text();
  } catch {
    failed += 1;
    if (failed === 2) tell(document.querySelector("form[data-typed]") ? words.silent : words.silentPage);
    return;
  }
  if (failed >= 2) tell("");
  failed = 0;
  const before = revision;
  revision = now;
  // The question stands in its address alone.
  if (before === null || before === now || location.pathname === "/") return;
  const answer = await fetch(location.href);
  const text = await answer.text();
  const main = document.querySelector("main");
  const typed = [...main.querySelectorAll("form")].find(isTyped);
  if (!typed) return show(text, false);
  if (!typed.dataset.typed) return tell(words.moved, words.again, () => location.reload());
  // Another file has changed: nothing to this form.
  const base = (of) => of.querySelector("form[data-typed] input[name=base]")?.value;
  if (base(new DOMParser().parseFromString(text, "text/html")) === base(document)) return;
  tell(words.typed, words.both, () => send(typed, null, typed.dataset.typed));
}

// A redirect that a script has followed keeps no place in the page.
document.getElementById("added")?.scrollIntoView();
addCopying(document);
document.addEventListener("htmx:afterSettle", () => addCopying(document));
document.addEventListener("visibilitychange", follow);
follow();
setInterval(follow, 3000);
