// Works out how far away each date is from the moment at which the page is looked at; offers an old page again;
// shows only the rows that are asked for. The words are in the page, which is whole without this script.
"use strict";
(function () {
  const words = document.body.dataset;
  const MINUTE = 60000;
  const HOUR = 60 * MINUTE;

  // "2027-04-24" or "2027-04-24T06:30", in the local time of whoever looks
  function local(text) {
    const [year, month, day, hour, minute] = text.split(/[-T:]/).map(Number);
    return new Date(year, month - 1, day, hour || 0, minute || 0);
  }

  // whole calendar days from one moment to another, whatever the clocks were put forward
  function days(from, to) {
    const noon = (moment) => Date.UTC(moment.getFullYear(), moment.getMonth(), moment.getDate());
    return Math.round((noon(to) - noon(from)) / (24 * HOUR));
  }

  function counted(words, number) {
    return words.replace("#", String(number));
  }

  // within an hour, minutes: rounded down before a moment, so that nobody comes too late
  function minutes(ahead, due) {
    const number = Math.floor(Math.abs(ahead) / MINUTE);
    if (number === 0) return words.now;
    if (ahead > 0) return counted(words.inMinutes, number);
    return counted(due ? words.minutesLate : words.minutesAgo, number);
  }

  function away(text, now, due) {
    const to = local(text);
    if (text.includes("T") && Math.abs(to - now) < HOUR) return minutes(to - now, due);
    const ahead = days(now, to);
    if (ahead > 1) return counted(words.inDays, ahead);
    if (ahead === 1) return words.tomorrow;
    if (ahead === -1) return words.yesterday;
    if (ahead < -1) return counted(words.daysAgo, -ahead);
    if (!text.includes("T")) return words.today;
    const hours = Math.floor(Math.abs(to - now) / HOUR);
    return counted(to >= now ? words.inHours : words.hoursAgo, hours);
  }

  function isOver(text, now) {
    return text.includes("T") ? local(text) < now : days(now, local(text)) < 0;
  }

  function tell() {
    const now = new Date();
    for (const place of document.querySelectorAll(".away")) {
      const text = place.dataset.to;
      const due = place.classList.contains("due");
      place.textContent = away(text, now, due);
      place.classList.toggle("over", due && isOver(text, now));
      place.hidden = false;
    }
    const made = document.querySelector("time.made");
    if (!made) return;
    const age = days(local(made.getAttribute("datetime")), now);
    old.hidden = age < 1;
    old.firstElementChild.textContent =
      age < 1 ? "" : counted(words.old, age === 1 ? words.dayOld : counted(words.daysOld, age));
  }

  // every word that is typed must stand in what a row is found by; what has no row left is not shown either
  function show() {
    const typed = box.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of rows) {
      const text = (row.dataset.find || row.textContent).toLowerCase();
      row.hidden = !typed.every((word) => text.includes(word));
      shown += row.hidden ? 0 : 1;
    }
    for (const section of document.querySelectorAll("section")) {
      const inside = Array.from(section.querySelectorAll(".rows > li"));
      if (inside.length && !section.querySelector(".problems, .filter")) section.hidden = inside.every((row) => row.hidden);
    }
    found.textContent = typed.length ? counted(found.dataset.found, shown) : "";
  }

  const old = document.querySelector(".old");
  old.querySelector("button").addEventListener("click", () => window.location.reload());
  tell();
  window.setInterval(tell, MINUTE / 4);
  document.addEventListener("visibilitychange", tell);

  // the clipboard is for pages of this computer alone; elsewhere the text is marked, to be copied by hand
  for (const button of document.querySelectorAll("button[data-copies]")) {
    const field = document.getElementById(button.dataset.copies);
    button.hidden = false;
    button.addEventListener("click", async () => {
      field.select();
      try {
        await navigator.clipboard.writeText(field.value);
        button.textContent = button.dataset.copied;
      } catch {
        field.focus();
      }
    });
  }

  const box = document.getElementById("filter");
  const found = document.getElementById("found");
  const rows = document.querySelectorAll(".rows > li");
  if (box && rows.length > 1) {
    document.querySelector(".filter").hidden = false;
    box.addEventListener("input", show);
    show(); // a browser that comes back keeps what was typed
  }
})();
