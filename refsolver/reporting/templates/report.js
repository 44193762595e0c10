"use strict";
(() => {
  const form = document.getElementById("filter");
  const items = [...document.querySelectorAll("[data-verdicts]")];
  const said = form.querySelector("output");

  const filter = () => {
    const chosen = new Set([...form.querySelectorAll("[name=verdict]:checked")].map((x) => x.value));
    const family = form.elements.family.value;
    const text = form.elements.text.value.trim().toLowerCase();
    let shown = 0;
    for (const item of items) {
      const fits =
        item.dataset.verdicts.split("|").some((v) => chosen.has(v)) &&
        (!family || item.dataset.family === family) &&
        (!text || item.textContent.toLowerCase().includes(text));
      item.classList.toggle("filtered", !fits);
      shown += fits;
    }
    said.textContent =
      shown === items.length ? "" : `${shown} of ${items.length} entries shown; paper shows all`;
  };

  const value = (row, column) => {
    const text = row.cells[column].textContent.trim();
    const number = Number(text.replace(/[,\s]/g, "").replace("+", ""));
    return text !== "" && Number.isFinite(number) ? number : text;
  };

  const compare = (a, b) =>
    typeof a === "number" && typeof b === "number" ? a - b
      : typeof a === "number" ? -1
        : typeof b === "number" ? 1
          : a.localeCompare(b);

  const sortable = (table) => {
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const up = head.getAttribute("aria-sort") !== "ascending";
        heads.forEach((other) => other.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
        const rows = [...table.tBodies[0].rows];
        rows.sort((a, b) => (up ? 1 : -1) * compare(value(a, column), value(b, column)));
        table.tBodies[0].append(...rows);
      });
    });
  };

  for (const box of document.querySelectorAll(".scroll"))
    if (box.scrollWidth > box.clientWidth) box.tabIndex = 0;
  document.querySelectorAll("table.sortable").forEach(sortable);
  form.addEventListener("input", filter);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.hidden = false;
})();
