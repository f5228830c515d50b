// The tables of margins, and the review.

const tables = (() => {
  const home = $("tables");
  let shape = "";
  let shown = null;
  /** The cells by table and row: while a hand moves only their words change. */
  let cells = [];

  /** Draws the tables; a row selects. */
  function draw(list) {
    if (list === shown) return;
    const before = shown;
    shown = list;
    const next = JSON.stringify(list.map((told) => [told.title, told.heads, told.rows.map((row) => row.tag)]));
    if (next !== shape) {
      shape = next;
      const open = document.activeElement && home.contains(document.activeElement) && document.activeElement.dataset.tag;
      home.replaceChildren(...list.map(table));
      cells = [...home.querySelectorAll("table")].map((one) => [...one.tBodies[0].rows]);
      if (open) {
        const again = [...home.querySelectorAll("button")].find((button) => button.dataset.tag === open);
        if (again) again.focus({ preventScroll: true });
      }
      mark();
      return;
    }
    list.forEach((told, index) =>
      told.rows.forEach((one, place) => {
        if (before[index].rows[place] === one) return;
        const row = cells[index][place];
        row.classList.toggle("fails", Boolean(one.fails));
        one.cells.forEach((text, column) => say(row.cells[column + 1], text));
      }),
    );
  }

  function table(told, index) {
    const numbers = told.heads.map((head) => head.unit !== "");
    // On a narrow screen what was drawn is left out, and what came of it stays.
    const more = told.heads.map((head) => ["demand", "opening", "inlet", "receives", "level"].includes(head.name));
    const kind = (column) => [numbers[column] && "n", more[column] && "more"].filter(Boolean).join(" ") || null;
    const title = told.title.charAt(0) + told.title.slice(1).toLowerCase();
    const head = (cell, column) =>
      make("th", { scope: "col", class: kind(column) }, cell.name, cell.unit ? make("small", {}, cell.unit) : null);
    const cell = (text, column) => make("td", { class: kind(column) }, text);
    const row = (one) =>
      make(
        "tr",
        { class: one.fails ? "fails" : null, "data-tag": one.tag, onclick: () => desk.select(desk.named(one.tag) || []) },
        make("th", { scope: "row" }, make("button", { type: "button", class: "tag", "data-tag": one.tag }, one.tag)),
        ...one.cells.map(cell),
      );
    return make(
      "div",
      { class: "rows", tabindex: "-1" },
      make(
        "table",
        {},
        make("caption", { class: index === 0 ? "hidden" : null }, title),
        make("thead", {}, make("tr", {}, make("th", { scope: "col" }, make("span", { class: "hidden" }, "tag")), ...told.heads.map(head))),
        make("tbody", {}, ...told.rows.map(row)),
      ),
    );
  }

  /** Marks the row of what is selected. */
  function mark() {
    const chosen = desk.chosenTag();
    for (const row of home.querySelectorAll("tr[data-tag]")) {
      row.setAttribute("aria-selected", row.dataset.tag === chosen);
    }
  }

  return { draw, mark };
})();

const review = (() => {
  /** Draws the findings: those that fail open, the others by their headings. */
  function draw(told) {
    const home = $("findings");
    if (!told) return;
    const parts = told.groups.map(({ outcome, heading, findings }) => {
      const before = home.querySelector(`details[data-outcome="${outcome}"]`);
      const open = before ? before.open : outcome === "fail";
      const list = make("ul", { class: "findings" });
      const details = make(
        "details",
        { open, "data-outcome": outcome },
        make("summary", {}, make("span", { class: `outcome ${outcome}` }, heading), ` ${findings.length}`),
        list,
      );
      // There may be thousands: they are made where somebody looks.
      const fill = () => details.open && !list.firstChild && list.append(...findings.map((found) => finding(found, outcome)));
      details.addEventListener("toggle", fill);
      fill();
      return details;
    });
    home.replaceChildren(make("p", {}, make("strong", {}, told.words)), ...parts);
  }

  function finding(found, outcome) {
    const keys = desk.named(found.where);
    const place = keys
      ? make("button", { type: "button", class: "tag", onclick: () => desk.select(keys) }, found.where)
      : make("span", {}, `${found.where} `);
    const missing = (found.missing || []).map((path) => make("button", { type: "button", class: "tag key", onclick: () => piece.open(path) }, path));
    return make(
      "li",
      {},
      make("span", { class: `outcome ${outcome}` }, found.word, " "),
      place,
      make("span", { class: "where" }, `${found.rule} `),
      make("span", {}, ...prose(found.message)),
      found.mend ? make("span", { class: "mend" }, ...prose(`Mend: ${found.mend}.`)) : null,
      missing.length ? make("span", { class: "mend" }, "Asks for ", ...missing) : null,
    );
  }

  return { draw };
})();
