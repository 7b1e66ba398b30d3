// A kitchen's day: a record is kept on the tablet until the service has it, and sent again when the connection is back.
// Without this script the forms are sent as forms are.
const RETRY = 5000; // milliseconds
const PATIENCE = 15000;

const name = () => `records-waiting-${document.getElementById("waiting").dataset.user}`;
const waiting = () => JSON.parse(localStorage.getItem(name()) || "[]");
const keep = (records) => localStorage.setItem(name(), JSON.stringify(records));

let sending = false;
let later = null;

function tell(record) {
  const clock = new Date(record.touched).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  return `${record.said}, ${clock}`;
}

function show(why) {
  const box = document.getElementById("waiting");
  const records = waiting();
  box.hidden = records.length === 0;
  box.replaceChildren();
  if (records.length === 0) return;
  const head = document.createElement("p");
  const strong = document.createElement("strong");
  strong.textContent = `Not saved yet: ${why}`;
  head.append(strong);
  const list = document.createElement("ul");
  for (const record of records) {
    const item = document.createElement("li");
    item.textContent = tell(record);
    list.append(item);
  }
  const foot = document.createElement("p");
  foot.textContent = "It is kept on this tablet with its time, and tried again every few seconds. Leave this page open.";
  box.append(head, list, foot);
}

async function post(record) {
  const body = new FormData();
  for (const [field, value] of record.fields) body.append(field, value);
  body.set("csrfmiddlewaretoken", document.querySelector("[name=csrfmiddlewaretoken]").value);
  body.set("waited", String((Date.now() - record.touched) / 1000));
  return fetch(record.action, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE) });
}

// What came back is the page as it is now; its messages are told once, so it is shown and not fetched again.
async function turn(response) {
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  document.querySelector("main").replaceWith(page.querySelector("main"));
  if (response.redirected) history.replaceState(null, "", response.url);
  window.htmx?.process(document.querySelector("main"));
  begin();
  window.scrollTo(0, 0);
}

async function send() {
  clearTimeout(later);
  if (sending || waiting().length === 0) return;
  sending = true;
  let why = "";
  try {
    const [record] = waiting();
    const response = await post(record);
    if (response.status >= 500) why = "the service answered with an error.";
    else if (response.status === 403 || new URL(response.url).pathname.includes("sign-in")) {
      why = "you are signed out. Load this page again and sign in; what is kept here is sent then.";
    } else {
      keep(waiting().slice(1));
      await turn(response);
    }
  } catch {
    why = "no connection to the service.";
  }
  sending = false;
  show(why || "being sent.");
  if (waiting().length > 0) later = setTimeout(send, why ? RETRY : 0);
}

function caught(event) {
  const form = event.target.closest("form[data-keep]");
  if (!form) return;
  event.preventDefault();
  const fields = [...new FormData(form, event.submitter)].filter(([, value]) => typeof value === "string");
  const said = [event.submitter?.textContent.trim(), form.dataset.said].filter(Boolean).join(": ");
  keep([...waiting(), { action: form.action, fields, said, touched: Date.now() }]);
  for (const button of form.querySelectorAll("button")) button.disabled = true;
  send();
}

// What an arrow or a link leads to may be folded away.
function unfold() {
  let place = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!place) return;
  for (let fold = place.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  place.scrollIntoView();
}

function begin() {
  for (const form of document.querySelectorAll("form[data-until]")) {
    setTimeout(() => (form.hidden = true), Number(form.dataset.until) * 1000);
  }
  const picture = document.querySelector(".picture");
  if (picture?.dataset.now) picture.scrollLeft = Number(picture.dataset.now) - picture.clientWidth / 2;
  const names = [...document.querySelectorAll(".row-name")];
  const follow = () => names.forEach((each) => each.setAttribute("transform", `translate(${picture.scrollLeft})`));
  picture?.addEventListener("scroll", follow, { passive: true });
  if (picture) follow();
}

document.addEventListener("submit", caught);
window.addEventListener("online", send);
window.addEventListener("hashchange", unfold);
begin();
unfold();
if (waiting().length > 0) send();
