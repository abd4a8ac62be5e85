"use strict";
// A sheet of labels with those that are used up crossed out, and the one that printing begins at framed.
function draw(table, columns, labels, first) {
  table.hidden = labels === 1 || !(first >= 1 && first <= labels);
  table.setAttribute("aria-label", table.dataset.says.replace("#", first));
  table.replaceChildren();
  for (let number = 1; number <= labels; number += 1) {
    const row = (number - 1) % columns === 0 ? table.insertRow() : table.rows[table.rows.length - 1];
    const cell = row.insertCell();
    cell.textContent = number;
    cell.className = number < first ? "used" : number === first ? "first" : "";
  }
}
// Each label sheet has a first free label of its own; and the line above the buttons says what its fields say.
(() => {
  const [stock, first] = ["stock", "first"].map((name) => document.getElementById(name));
  const drawn = document.getElementById("drawn");
  const [onto, from] = ["onto", "from"].map((name) => document.getElementById(name));
  if (!stock || !first) return;
  function tell() {
    const { columns, labels } = stock.selectedOptions[0].dataset;
    if (drawn) draw(drawn, Number(columns), Number(labels), Number(first.value));
    if (!onto || !from) return;
    onto.textContent = stock.value;
    from.textContent = first.value;
  }
  stock.addEventListener("change", () => {
    first.value = stock.selectedOptions[0].dataset.first;
    tell();
  });
  first.addEventListener("input", tell);
  tell(); // a browser that comes back keeps what was typed
})();
// A file that is too large is not sent at all.
(() => {
  const file = document.getElementById("file");
  if (!file) return;
  file.addEventListener("change", () => {
    const size = file.files.length ? file.files[0].size : 0;
    file.setCustomValidity(size > Number(file.dataset.most) ? file.dataset.says : "");
    file.reportValidity();
  });
})();
