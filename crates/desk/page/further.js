// Further sheets, worked out where somebody asks for them: the storm as it passes, opening the drains,
// how sure the margins are, days of rain.

const further = (() => {
  const home = $("further-body");
  const note = $("further-note");
  const buttons = [...document.querySelectorAll("#further button[data-sheet]")];
  let which = null;
  /** The revision of the sheet that is shown, and the call that is on its way. */
  let shown = null;
  let calling = null;

  async function ask(next) {
    which = next;
    mark();
    if (calling) calling.abort();
    const call = new AbortController();
    calling = call;
    const revision = desk.revision();
    say(note, "Being worked out\u2026");
    try {
      const answer = await server.call("sheet", { revision, which }, { signal: call.signal });
      if (calling !== call) return;
      calling = null;
      if (answer.stale) {
        say(note, "The file changed meanwhile.");
        return;
      }
      shown = { which, revision };
      if (answer.refused) {
        home.replaceChildren();
        say(note, answer.refused);
      } else {
        home.replaceChildren(make("h3", {}, answer.sheet.title), ...answer.sheet.blocks.map(block));
        say(note, "");
      }
      age();
    } catch (error) {
      if (error.name !== "AbortError") desk.lostTo(error);
    }
  }

  /** Another text: what is worked out is called off, and what stands there is old. */
  function changed() {
    age();
    if (calling) {
      calling.abort();
      calling = null;
      say(note, "Called off: the file changed.");
    }
  }

  function age() {
    const old = shown !== null && shown.revision !== desk.revision();
    home.classList.toggle("old-picture", old);
    if (old && !calling) say(note, "What is greyed is of the text as it was; ask again.");
  }

  function block(told) {
    if (told.kind === "verdict") return make("p", { class: told.good ? "answer" : "answer bad" }, make("strong", {}, told.word), ` ${told.sentence}`);
    if (told.kind === "heading") return make("h4", {}, told.words);
    if (told.kind === "text") return make("p", {}, ...prose(told.words));
    if (told.kind === "facts") return make("dl", {}, ...told.facts.flatMap(([name, value]) => [make("dt", {}, name), make("dd", {}, value)]));
    if (told.kind === "cautions") return make("ul", { class: "errors" }, ...told.list.map((words) => make("li", { class: "caution" }, words)));
    if (told.kind === "figure") return make("div", { class: "figure wide", role: "img", "aria-label": told.title }, make("div", { class: "panel" }, drawn(told.svg)));
    const kind = (column) => (told.columns[column][2] ? "n" : null);
    const head = ([name, unit], column) => make("th", { scope: "col", class: kind(column) }, name, unit ? make("small", {}, unit) : null);
    const row = (cells) => make("tr", {}, ...cells.map((cell, column) => make("td", { class: kind(column) }, cell)));
    return make("div", { class: "rows", tabindex: "0", role: "group", "aria-label": "Table" }, make("table", {}, make("thead", {}, make("tr", {}, ...told.columns.map(head))), make("tbody", {}, ...told.rows.map(row))));
  }

  function mark() {
    for (const button of buttons) button.setAttribute("aria-pressed", button.dataset.sheet === which);
  }

  for (const button of buttons) button.addEventListener("click", () => ask(button.dataset.sheet));
  mark();

  return { changed };
})();
