// Works out how far away each date is from the day on which the page is looked at. The words are in the page.
"use strict";
(function () {
  const words = document.body.dataset;
  const HOUR = 3600000;

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

  function away(text, now) {
    const to = local(text);
    const ahead = days(now, to);
    if (ahead > 1) return counted(words.inDays, ahead);
    if (ahead === 1) return words.tomorrow;
    if (ahead === -1) return words.yesterday;
    if (ahead < -1) return counted(words.daysAgo, -ahead);
    if (!text.includes("T")) return words.today;
    const hours = Math.floor(Math.abs(to - now) / HOUR);
    if (hours < 1) return words.today;
    return counted(to >= now ? words.inHours : words.hoursAgo, hours);
  }

  function isOver(text, now) {
    return text.includes("T") ? local(text) < now : days(now, local(text)) < 0;
  }

  function tell() {
    const now = new Date();
    for (const place of document.querySelectorAll(".away")) {
      const text = place.dataset.to;
      place.textContent = away(text, now);
      place.classList.toggle("over", place.classList.contains("due") && isOver(text, now));
      place.hidden = false;
    }
    const made = document.querySelector("time.made");
    const old = document.querySelector(".old");
    if (made && old) {
      const age = days(local(made.getAttribute("datetime")), now);
      old.hidden = age < 1;
      old.textContent = age < 1 ? "" : counted(words.old, age === 1 ? words.dayOld : counted(words.daysOld, age));
    }
  }

  tell();
  window.setInterval(tell, 60000);
  document.addEventListener("visibilitychange", tell);
})();
