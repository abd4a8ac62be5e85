// What is tapped is kept in the phone until the computer has it: under an id that is minted at the tap, so that it is
// one entry however often it is sent. Without this script the forms are sent as they are.
"use strict";
(() => {
  const KEY = "tagmaker-waiting";
  const RETRY_MS = 4000;
  const box = document.querySelector(".waiting");
  const token = document.querySelector('.crate input[name="token"]');
  if (!box || !window.localStorage || !window.fetch || !window.crypto) return;
  const words = box.dataset;

  function kept() {
    try {
      const found = JSON.parse(localStorage.getItem(KEY));
      return Array.isArray(found) ? found : [];
    } catch {
      return [];
    }
  }

  function keep(entries) {
    localStorage.setItem(KEY, JSON.stringify(entries));
    tell();
  }

  function change(id, what) {
    keep(kept().flatMap((entry) => (entry.fields.id !== id ? [entry] : what ? [{ ...entry, ...what }] : [])));
  }

  function minted() {
    return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function said(entry) {
    const { lot, at, kind, n, many } = entry.fields;
    return `${lot || at}: ${kind} ${many || n || ""}`.trim();
  }

  // Never "saved" before it is: red as long as anything waits.
  function tell() {
    const entries = kept();
    box.hidden = entries.length === 0;
    box.replaceChildren();
    if (entries.length === 0) return;
    const head = document.createElement("p");
    head.textContent = words.waiting.replace("#", entries.length);
    box.append(head);
    if (entries.some((entry) => entry.unpaired)) {
      const link = document.createElement("a");
      link.href = `/pair?back=${encodeURIComponent(location.pathname)}`;
      link.textContent = words.pair;
      box.append(link);
    }
    for (const entry of entries.filter((entry) => entry.refused)) {
      const line = document.createElement("p");
      line.textContent = `${words.refused}: ${said(entry)}. ${entry.refused}`;
      const drop = document.createElement("button");
      drop.type = "button";
      drop.textContent = `${words.drop} ${said(entry)}`;
      drop.addEventListener("click", () => change(entry.fields.id, null));
      box.append(line, drop);
    }
  }

  // One entry to the computer; its number where it is saved, null where it has to wait.
  async function send(entry) {
    const fields = new URLSearchParams({ ...entry.fields, token: token ? token.value : "" });
    if (entry.tried) fields.set("age", String(Math.round((Date.now() - entry.at) / 1000)));
    let answer;
    try {
      answer = await fetch("/enter", { method: "POST", headers: { Accept: "application/json" }, body: fields });
    } catch {
      keep(kept().map((waiting) => ({ ...waiting, tried: true }))); // from now on all of them have waited
      return null;
    }
    const told = await answer.json().catch(() => ({}));
    if (answer.ok && told.saved) {
      change(entry.fields.id, null);
      return [told.page, told.saved];
    }
    if (answer.status === 403) change(entry.fields.id, { tried: true, unpaired: true });
    else if (answer.status === 409) change(entry.fields.id, { refused: told.error || String(answer.status) });
    else change(entry.fields.id, { tried: true });
    return null;
  }

  let sending = false;
  async function sendAll() {
    if (sending || !token) return;
    sending = true;
    let last = null;
    try {
      for (const entry of kept().filter((entry) => !entry.refused)) {
        const saved = await send(entry);
        if (saved === null) break;
        last = saved;
      }
    } finally {
      sending = false;
    }
    if (last && kept().length === 0) location.assign(`/L/${last[0]}?saved=${last[1]}`);
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches(".crate")) return;
    event.preventDefault();
    const button = form.querySelector("button");
    if (button.disabled) return; // a double tap
    button.disabled = true;
    window.setTimeout(() => { button.disabled = false; }, 800);
    const fields = Object.fromEntries(new FormData(form));
    delete fields.token;
    fields.id = minted();
    keep([...kept(), { fields, at: Date.now() }]);
    const opened = form.closest("details");
    if (opened) opened.open = false;
    sendAll();
  });

  for (const event of ["online", "pageshow"]) window.addEventListener(event, sendAll);
  window.addEventListener("storage", tell);
  window.setInterval(sendAll, RETRY_MS);
  tell();
  sendAll();
})();
