"use strict";
// The page sends what was moved and shows what comes back. One request is under way at a time while a
// slider moves; the newest position follows it, and positions between the two are passed over.
const narrow = window.matchMedia("(max-width: 760px)");
const byId = (id) => document.getElementById(id);
const socket = new WebSocket(`ws://${location.host}/socket`);
let waiting = null, busy = false, held = null, days = [];

function say(message) {
  if (socket.readyState === WebSocket.OPEN) socket.send(JSON.stringify({ ...message, narrow: narrow.matches }));
}

function ask(message) {
  if (busy && message.moving) { waiting = merged(waiting, message); return; }
  const next = merged(waiting, message);
  waiting = null;
  busy = true;
  renew({ do: "move", ...next });
}

function renew(message) {
  renewed();
  say(message);
}

function renewed() {
  byId("verdict").classList.add("old");
  byId("answer_said").textContent = "Calculating the answer for the new values…";
}

function merged(before, after) {
  return before === null ? after : { ...before, ...after, moves: { ...before.moves, ...after.moves } };
}

function move(element, moving) {
  const name = element.dataset.knob;
  const value = element.tagName === "SELECT" ? element.value : Number(element.value);
  if (element.tagName !== "SELECT" && (element.value === "" || !Number.isFinite(value))) return;
  const knob = element.closest(".knob");
  knob.classList.add("moved");
  const range = knob.querySelector("input[type=range]"), amount = knob.querySelector("input[type=number]");
  if (range !== null) {
    const text = `${value} ${knob.querySelector(".unit").textContent}`;
    if (element === amount) {
      range.min = Math.min(range.min, value);
      range.max = Math.max(range.max, value);
      range.value = value;
    } else amount.value = value;
    range.setAttribute("aria-valuetext", text);
  }
  ask({ moves: { [name]: value }, moving });
}

function moveDay(moving) {
  const day = byId("day").value;
  byId("day_name").textContent = days[day];
  ask({ moves: {}, day: Number(day), moving });
}

const controls = byId("controls");
document.addEventListener("input", (event) => {
  if (event.target.type !== "range") return;
  held = event.target;
  if (held.id === "day") moveDay(true); else move(held, true);
});

function release() {
  const element = held;
  held = null;
  if (element !== null && element.isConnected) {
    if (element.id === "day") moveDay(false); else move(element, false);
  }
}

controls.addEventListener("change", (event) => {
  if (event.target === held) release(); else move(event.target, false);
});
byId("day").addEventListener("change", release);
// A slider that is let go where it began changes nothing, so the browser fires no change.
for (const end of ["pointerup", "pointercancel", "keyup", "blur"]) window.addEventListener(end, () => setTimeout(release));

byId("reset").addEventListener("click", () => { waiting = null; renew({ do: "reset" }); });
byId("usual").addEventListener("click", () => renew({ do: "usual" }));
byId("print").addEventListener("click", () => window.print());
byId("units").addEventListener("change", (event) => renew({ do: "units", units: event.target.value }));
byId("open").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  event.target.value = "";
  if (file !== undefined) say({ do: "open", name: file.name, text: await file.text() });
});
byId("save").addEventListener("click", () => {
  byId("saving").hidden = false;
  byId("name").focus();
});
byId("cancel").addEventListener("click", () => { byId("saving").hidden = true; byId("save").focus(); });
byId("saving").addEventListener("submit", (event) => {
  event.preventDefault();
  save(false);
});

function save(replace) {
  say({ do: "save", title: byId("name").value, file: byId("file").value, replace });
}

byId("type").addEventListener("change", (event) => { document.documentElement.className = event.target.value; });

function picture(image, content) {
  image.src = content.source;
  image.alt = content.alternative;
}

function show(message) {
  if ("title" in message) {
    byId("title").textContent = message.title;
    document.title = `Desk: ${message.title}`;
  }
  if ("controls" in message) {
    controls.innerHTML = message.controls;
    byId("note").textContent = message.note;
    byId("usual").hidden = !message.is_alone;
    byId("units").value = message.units;
    byId("name").value = message.title;
    days = message.days;
    byId("day").max = days.length - 1;
    renewed();
  }
  if ("day_shown" in message && document.activeElement !== byId("day")) byId("day").value = message.day_shown;
  if ("options" in message) {
    byId("options").innerHTML = message.options;
    byId("options").classList.toggle("coarse", message.coarse);
    byId("said").textContent = message.said;
    picture(byId("season"), message.season);
    picture(byId("when"), message.day);
    byId("day_name").textContent = byId("day_caption").textContent = days[message.day_shown];
    const rows = [...document.querySelectorAll("#options tbody tr")];
    byId("brief").textContent = rows.map((row) => `${row.querySelector("th").textContent.trim()}: ${row.querySelector(".hours").textContent} h, ${row.querySelector(".bill").textContent}`).join(" · ");
    document.body.dataset.shown = String(Number(document.body.dataset.shown || 0) + 1);
    busy = false;
  }
  if ("answer" in message) {
    byId("answer").innerHTML = message.answer;
    byId("answer_said").textContent = message.answer_said;
    byId("verdict").classList.remove("old");
    document.body.dataset.final = message.final;
  }
  if ("problem" in message) {
    byId("problem").textContent = message.problem;
    if (message.problem !== "") busy = false;
  }
  if ("saved" in message) {
    byId("saved").textContent = message.saved;
    byId("saving").hidden = true;
  }
  if ("exists" in message && window.confirm(`${message.exists} exists already. Replace it?`)) save(true);
  if (!busy && waiting !== null) ask({ moves: {} , moving: waiting.moving });
}

socket.addEventListener("open", () => say({ do: "begin" }));
socket.addEventListener("message", (event) => show(JSON.parse(event.data)));
socket.addEventListener("close", () => {
  byId("problem").textContent = "The desk has ended. Start it again with: moistsim desk";
});
