"use strict";
// Works on plain HTTP, where a phone has neither service worker nor locks nor crypto.subtle.
const WAITING = "garden.waiting", REFUSED = [401, 408, 429];
const SEND_MS = 6000, LOOK_MS = 2500, POLL_MS = 20000, LONGEST_PAUSE_MS = 60000, DAY_MS = 86400000, AGAIN_MS = 3000;
const find = (what, within = document) => within.querySelector(what);
const all = (what, within = document) => [...within.querySelectorAll(what)];
const clock = (at) => new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
const newKey = () => [...crypto.getRandomValues(new Uint8Array(8))].map((one) => one.toString(16).padStart(2, "0")).join("");
const litres = (amount) => `${(Math.abs(amount) < 1000 ? Math.round(amount) : 10 * Math.round(amount / 10)).toLocaleString("en-GB")} L`;
const isVisit = "visit" in document.documentElement.dataset;
document.documentElement.classList.add("scripting");

// ---- What waits on this phone ---------------------------------------------------------------------------------------

let spare = null; // stands in where the browser keeps nothing for us
let pause = 0, timer = 0, sending = false, isShutOut = false;
const inPage = new Map(); // key: its form, and where the answer goes in the page that is open

function waiting() {
  if (spare) return spare;
  try {
    return JSON.parse(localStorage.getItem(WAITING)) || [];
  } catch {
    return [];
  }
}

function keep(entries) {
  if (!spare) {
    try {
      localStorage.setItem(WAITING, JSON.stringify(entries));
    } catch {
      spare = entries;
    }
  } else {
    spare = entries;
  }
  showWaiting();
}

const forget = (key) => keep(waiting().filter((one) => one.key !== key));

function showWaiting() {
  const entries = waiting(), bar = find("#waiting"), refused = entries.find((one) => one.fault);
  const number = entries.length === 1 ? "1 entry" : `${entries.length} entries`;
  const isOld = entries.some((one) => Date.now() - one.at > DAY_MS);
  let said = `${number} waiting on this phone.`;
  if (isShutOut) said += " This phone is not let in any more: scan the square on the computer.";
  else if (refused) said = `Not written, ${refused.said}: ${refused.fault}`;
  else if (spare) said += " Do not close this page.";
  else if (isOld) said += " One for more than a day: go near the computer.";
  if (find("p", bar).textContent !== said) find("p", bar).textContent = said;
  find("button", bar).textContent = refused ? "Drop it" : "Send now";
  bar.hidden = entries.length === 0;
  const pending = find("#pending"), dips = entries.filter((one) => one.body.levels && !one.fault).map((one) => one.said);
  if (pending) {
    pending.textContent = dips.length ? `${dips.join(", ")} ${dips.length === 1 ? "waits" : "wait"} to be sent and is not reckoned with yet.` : "";
    pending.hidden = dips.length === 0;
  }
}

async function post(entry) {
  const ago = Math.max(0, (Date.now() - entry.at) / 1000);
  return fetch(entry.path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ ...entry.body, key: entry.key, ago_s: ago }),
    signal: AbortSignal.timeout(SEND_MS),
    keepalive: true,
  });
}

async function send() {
  if (sending || isVisit) return; // what waits belongs to the garden of this phone
  clearTimeout(timer);
  sending = true;
  let again = false;
  for (let entry; (entry = waiting().find((one) => !one.fault)); ) {
    let answer, told;
    try {
      answer = await post(entry);
      told = await answer.json();
    } catch {
      again = true;
      break;
    }
    isShutOut = answer.status === 401;
    const from = inPage.get(entry.key), isInSight = Boolean(from?.place.isConnected);
    const isKept = answer.status >= 500 || REFUSED.includes(answer.status);
    if (isInSight) answered(from, told, isKept);
    if (isKept) {
      again = true;
      break;
    }
    pause = 0;
    inPage.delete(entry.key);
    if (answer.ok || isInSight) forget(entry.key);
    else keep(waiting().map((one) => (one.key === entry.key ? { ...one, fault: told.fault } : one)));
  }
  sending = false;
  showWaiting();
  if (again) {
    pause = Math.min(LONGEST_PAUSE_MS, pause ? 2 * pause : 2000);
    timer = setTimeout(send, pause);
  } else {
    keepPages();
  }
}

// ---- Forms ----------------------------------------------------------------------------------------------------------

function bodyOf(form) {
  const told = Object.fromEntries(new FormData(form));
  const { key, back, store, unit, value, minutes, mains_l: mains, gauge_mm: gauge, ...body } = told;
  if (!body.day) delete body.day;
  if (form.dataset.send === "/api/undo") body.line = Number(told.line);
  if (form.dataset.send !== "/api/entries") return [body, find("h2, h3", form.closest("section, li") || form)?.textContent || "an entry"];
  if (value) body.levels = [`${store}=${value}${unit}`];
  if (gauge) body.gauge_mm = Number(gauge);
  if (mains) body.mains = [`${store}=${mains}`];
  if (minutes) {
    body.ran = [`${told.line}=${minutes}`];
    delete body.line;
  }
  const said = value ? `${store} ${value} ${unit}` : gauge ? `${gauge} mm of rain` : mains ? `${mains} L of mains water` : `${told.line} ${minutes} minutes`;
  return [body, said];
}

function placeOf(form) {
  const before = form.previousElementSibling;
  return form.closest(".answer") || find(".answer", form) || (before?.role === "status" ? before : find("main > .answer"));
}

function answerIn(place, said, isBad = false) {
  place.classList.toggle("bad", isBad);
  place.textContent = said;
  place.scrollIntoView({ block: "nearest" });
}

function submitted(event) {
  const form = event.target, path = form.dataset.send;
  if (!path || isVisit) return; // nothing of a visit is kept on the phone: the form goes as it does without script
  event.preventDefault();
  const key = find("[name=key]", form).value;
  if (inPage.has(key) || Date.now() - Number(form.dataset.sentAt || 0) < AGAIN_MS) return; // a second tap
  const [body, said] = bodyOf(form), place = placeOf(form);
  inPage.set(key, { form, place });
  form.dataset.sentAt = Date.now();
  answerIn(place, "Kept on this phone.");
  turn(form);
  keep([...waiting(), { key, at: Date.now(), path, body, said }]);
  send();
}

function renewed(form) {
  find("[name=key]", form).value = newKey();
}

function changed(event) { // what is written now is another entry
  const form = event.target.closest("form[data-send]");
  if (!form || !inPage.has(find("[name=key]", form).value)) return;
  form.dataset.sentAt = 0;
  renewed(form);
}

function answered({ form, place }, told, isKept) {
  if (isKept) {
    answerIn(place, `Kept on this phone. ${told.fault}`);
    return;
  }
  renewed(form);
  if (told.fault) {
    form.dataset.sentAt = 0;
    answerIn(place, told.fault, true);
    const name = { levels: "value", ran: "minutes", mains: "mains_l" }[told.field] || told.field;
    if (name) find(`[name=${name}]:not([type=hidden])`, form)?.focus();
    return;
  }
  if (form.dataset.then) {
    go(form.dataset.then, { isPushed: false, isQuiet: true, message: told.saved });
    return;
  }
  answerIn(place, `${told.saved} `);
  if (told.lines.length === 1 && form.dataset.send === "/api/entries") place.append(undoForm(told.lines[0]));
}

function undoForm(line) {
  const form = document.createElement("form"), button = document.createElement("button");
  form.dataset.send = form.action = "/api/undo";
  form.method = "post";
  for (const [name, value] of [["key", newKey()], ["line", line]]) {
    const field = document.createElement("input");
    Object.assign(field, { type: "hidden", name, value });
    form.append(field);
  }
  button.textContent = "Undo";
  form.append(button);
  return form;
}

// ---- Pages, kept as long as this one is open ------------------------------------------------------------------------

const kept = new Map(); // path: { text, at }
const here = () => location.pathname + location.search;

async function look(path) {
  const answer = await fetch(path, { signal: AbortSignal.timeout(LOOK_MS), headers: { accept: "text/html" } });
  if (!answer.ok) throw new Error(answer.status);
  const page = { text: await answer.text(), at: Date.now() };
  kept.set(path, page);
  return page;
}

async function keepPages() {
  try {
    for (const link of all("nav a")) {
      const page = new DOMParser().parseFromString((await look(link.getAttribute("href"))).text, "text/html");
      for (const chip of all(".chips a:not([aria-current])", page)) await look(chip.getAttribute("href"));
    }
  } catch {
    // out of reach: what was kept before still stands
  }
}

function outOfReach(at) {
  const bar = find("#reach");
  bar.hidden = !at;
  bar.textContent = at ? `The computer is not in reach. This is as of ${clock(at)}.` : "";
}

async function go(path, { isPushed = true, isQuiet = false, message = "" } = {}) {
  let page;
  try {
    page = await look(path);
    outOfReach(0);
  } catch {
    page = kept.get(path);
    if (!page) return isQuiet ? undefined : location.assign(path);
    outOfReach(page.at);
  }
  const doc = new DOMParser().parseFromString(page.text, "text/html");
  history[isPushed ? "pushState" : "replaceState"](null, "", path);
  document.title = doc.title;
  find("nav").replaceWith(document.adoptNode(find("nav", doc)));
  find("main").replaceWith(document.adoptNode(find("main", doc)));
  dress(page.at);
  const place = message && find(".answer");
  if (place) place.textContent = message;
  if (!isQuiet) {
    scrollTo(0, 0);
    find("main").focus({ preventScroll: true });
  }
}

function clicked(event) {
  const link = event.target.closest("a[href^='/']");
  if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  if (!kept.has(link.getAttribute("href"))) return;
  event.preventDefault();
  go(link.getAttribute("href"));
}

let tag = "";
async function poll() {
  if (document.hidden) return;
  try {
    const answer = await fetch("/api/today", { headers: { "if-none-match": tag || '"-"' }, cache: "no-store", signal: AbortSignal.timeout(SEND_MS) });
    const isNew = answer.status === 200 && tag && answer.headers.get("etag") !== tag;
    tag = answer.headers.get("etag") || tag;
    if (isNew || !find("#reach").hidden) refresh();
    if (waiting().some((one) => !one.fault) && !sending) send();
  } catch {
    outOfReach(kept.get(here())?.at || opened);
  }
}

function refresh() {
  outOfReach(0);
  const busy = document.activeElement?.closest("main form");
  if (!busy && ["/", "/line", "/week"].includes(location.pathname)) go(here(), { isPushed: false, isQuiet: true });
  else keepPages();
}

// ---- A store to be dipped -------------------------------------------------------------------------------------------

function dressDip(form) {
  const scales = JSON.parse(form.dataset.scales), table = JSON.parse(form.dataset.litres);
  const slide = find("#slide", form), value = find("#value", form), last = table.length - 1;
  let scale = scales[0];
  const shareOfLitres = (amount) => {
    const above = table.findIndex((one) => one >= amount);
    if (above <= 0) return above < 0 ? 1 : 0;
    return (above - 1 + (amount - table[above - 1]) / (table[above] - table[above - 1])) / last;
  };
  const litresAt = (share) => {
    const at = Math.min(last, Math.max(0, share * last)), below = Math.min(last - 1, Math.floor(at));
    return table[below] + (at - below) * (table[below + 1] - table[below]);
  };
  const share = () => (scale.unit === "cm" ? Number(value.value) / scale.full : shareOfLitres(Number(value.value)));
  const show = () => {
    const held = Math.min(1, Math.max(0, share()));
    slide.value = value.value;
    find("#surface", form).setAttribute("y", 190 - 180 * held);
    find("#stands", form).textContent = litres(scale.unit === "cm" ? litresAt(held) : Number(value.value));
  };
  const set = (amount) => {
    const snapped = Math.round(amount / scale.step) * scale.step;
    value.value = Math.min(Math.floor(scale.full / scale.step + 1e-9) * scale.step, Math.max(0, snapped));
    show();
  };
  const toShare = (held) => set(scale.unit === "cm" ? held * scale.full : litresAt(held));
  slide.addEventListener("input", () => ((value.value = slide.value), show()));
  value.addEventListener("input", show);
  all(".step", form).forEach((button) => button.addEventListener("click", () => set(Number(value.value) + button.dataset.step * scale.step)));
  find("#vessel", form).addEventListener("pointerdown", (event) => {
    const box = find("#vessel", form).getBoundingClientRect();
    toShare(Math.min(1, Math.max(0, (190 - (200 * (event.clientY - box.top)) / box.height) / 180)));
  });
  all("[name=unit][type=radio]", form).forEach((radio) => radio.addEventListener("change", () => {
    const held = share();
    scale = scales.find((one) => one.unit === radio.value);
    Object.assign(slide, { max: scale.full, step: scale.step });
    toShare(held);
  }));
  show();
}

function dressStep(button) {
  const field = find("input", button.closest(".amounts"));
  button.addEventListener("click", () => {
    field.value = Math.max(0, Number(field.value) + Number(button.dataset.step));
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
}

// ---- A word of a list, and what is known of it ------------------------------------------------------------------------

function dressPicked(place) {
  const box = find(`#${place.dataset.of}`);
  const show = () => {
    const option = [...box.list.options].find((one) => one.value.toLowerCase() === box.value.trim().toLowerCase());
    place.textContent = option ? `${option.label[0].toUpperCase()}${option.label.slice(1)}.` : "";
  };
  box.addEventListener("input", show);
  show();
}

// ---- A jug under a jet: the stop-watch, which reckons from when it was started ------------------------------------------

function dressWatch(place) {
  const form = place.closest("form"), button = find("button", place), hand = find(".clock", place), boxes = all("[name=seconds]", form);
  let started = 0;
  const passed = () => (Date.now() - started) / 1000;
  const show = () => {
    if (started && place.isConnected) hand.textContent = `${passed().toFixed(1)} s`;
    if (started && place.isConnected) requestAnimationFrame(show);
  };
  const flows = () => boxes.forEach((box) => {
    const flow = (60 * Number(find("[name=jug_l]", form).value)) / Number(box.value);
    find(`#flow-${box.id}`).textContent = Number.isFinite(flow) && flow > 0 ? `${flow.toPrecision(3)} L a minute` : "";
  });
  button.addEventListener("click", () => {
    if (started) {
      const box = boxes.find((one) => !one.value) || boxes.at(-1);
      box.value = passed().toFixed(1);
      hand.textContent = `${box.value} s`;
      flows();
    }
    started = started ? 0 : Date.now();
    button.textContent = started ? "Stop" : "Start the next jet";
    show();
  });
  form.addEventListener("input", flows);
  flows();
}

// ---- Lines that run --------------------------------------------------------------------------------------------------

const running = new Map(); // card: when it was opened
function turn(form) {
  const card = form.closest("li.line"), isStart = form.dataset.send === "/api/line/start";
  if (!card || !form.dataset.send.startsWith("/api/line/")) return;
  if (isStart) running.set(card, Date.now());
  else running.delete(card);
  find(".running", card).hidden = !isStart;
  find(".standing", card).hidden = isStart;
  if (isStart) find(".since", card).textContent = `Open since ${clock(Date.now())}.`;
  tick();
}

function tick() {
  for (const [card, since] of running) {
    if (!card.isConnected) {
      running.delete(card);
      continue;
    }
    const left = Math.round(60 * card.dataset.minutes - (Date.now() - since) / 1000), place = find(".clock", card);
    const told = `${Math.floor(Math.abs(left) / 60)}:${String(Math.abs(left) % 60).padStart(2, "0")}`;
    place.textContent = left > 0 ? told : `Shut ${card.dataset.name}`;
    if (left <= 0 && !card.dataset.hasRung) {
      card.dataset.hasRung = "yes";
      navigator.vibrate?.([400, 200, 400]);
    }
  }
}

function dressLine(card, at) {
  if (card.dataset.openS !== undefined) running.set(card, at - 1000 * card.dataset.openS);
}

// ---- What if: all positions of a slider are asked for at once, and then only read ---------------------------------------

function dressSlider(card) {
  const slide = find("input[type=range]", card), then = find("output", card), words = all(".words", card);
  const values = JSON.parse(card.dataset.values), now = Number(card.dataset.now);
  let positions = null, asking = false;
  const show = () => {
    const at = Number(slide.value), told = positions?.[at];
    then.textContent = told ? told.says : "…";
    for (const place of words) place.textContent = told ? told.words : "…";
    slide.setAttribute("aria-valuetext", told ? told.words : String(values[at]));
    find("[name=value]", card).value = values[at];
    all(".moved", card).forEach((one) => (one.hidden = !told || at === now));
  };
  const ask = async () => {
    if (positions || asking) return;
    asking = true;
    try {
      const answer = await fetch(`/api/what-if?place=${encodeURIComponent(card.dataset.place)}`, { signal: AbortSignal.timeout(SEND_MS) });
      const told = await answer.json();
      if (!answer.ok) throw new Error(told.fault);
      positions = told.positions;
      show();
    } catch {
      then.textContent = "The computer is not in reach, so this cannot be reckoned now.";
    }
    asking = false;
  };
  slide.addEventListener("pointerdown", ask);
  slide.addEventListener("focus", ask);
  slide.addEventListener("input", () => (show(), ask()));
  find(".back", card).addEventListener("click", () => {
    slide.value = now;
    show();
    slide.focus();
  });
}

// ---- A page whose answer is on its way ------------------------------------------------------------------------------

async function arrive(place) {
  try {
    const answer = await fetch(place.dataset.looking, { headers: { accept: "text/html" } });
    if (!place.isConnected) return;
    const doc = new DOMParser().parseFromString(await answer.text(), "text/html");
    document.title = doc.title;
    find("main").replaceWith(document.adoptNode(find("main", doc)));
    dress(Date.now());
    find("main").focus({ preventScroll: true });
  } catch {
    if (place.isConnected) place.textContent = "The computer is not in reach, so this cannot be reckoned now.";
  }
}

// ---- Everything together --------------------------------------------------------------------------------------------

function dress(at) {
  all("form[data-send]").forEach(renewed); // that of a kept page is used up
  all("form.dip").forEach(dressDip);
  all("form:not(.dip) .step").forEach(dressStep);
  all("li.line").forEach((card) => dressLine(card, at));
  all("li.slider").forEach(dressSlider);
  all(".picked").forEach(dressPicked);
  all(".watch").forEach(dressWatch);
  all("[data-looking]").forEach(arrive);
  tick();
  showWaiting();
}

const opened = Date.now();
kept.set(here(), { text: `<!doctype html><title>${document.title}</title>${find("main").outerHTML}${find("nav").outerHTML}`, at: opened });
addEventListener("submit", submitted, true); // a form within another lets nothing through
addEventListener("input", changed);
addEventListener("click", clicked);
addEventListener("popstate", () => go(here(), { isPushed: false }));
addEventListener("online", () => (send(), poll()));
document.addEventListener("visibilitychange", () => document.hidden || (tick(), send(), poll()));
addEventListener("storage", showWaiting);
find("#waiting button").addEventListener("click", () => {
  const refused = waiting().find((one) => one.fault);
  if (refused) forget(refused.key);
  else send();
});
dress(opened);
if (waiting().length) send();
else keepPages();
setInterval(tick, 500);
setInterval(poll, POLL_MS);
poll();
