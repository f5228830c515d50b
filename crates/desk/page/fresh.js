// New pieces, and pieces taken away: asked about first, each one step of undo.

const fresh = (() => {
  const dialog = $("dialog");
  let asked = null;

  const kinds = { downspouts: "downspout", points: "point", lines: "line", tanks: "tank", roofs: "roof" };
  const kind = (section) => kinds[section] || `entry of ${section}`;

  function show(title, ...parts) {
    dialog.replaceChildren(make("h2", { id: "dialog-title" }, title), ...parts);
    if (!dialog.open) dialog.showModal();
  }

  const close = () => dialog.close();

  function buttons(word, act) {
    return make("div", { class: "buttons" }, make("button", { type: "button", class: "first", "data-do": "go", onclick: act }, word), make("button", { type: "button", onclick: close }, "Leave it"));
  }

  /** Asks what a new piece is to be. */
  function start() {
    const on = desk.selected();
    const line = on && on[0] === "lines";
    propose(line || (on && on[0] === "points") ? "downspouts" : on && on.length === 2 ? on[0] : "downspouts", on);
  }

  async function propose(what, on) {
    const told = await desk.suggest(what, on);
    if (!told) return;
    if (told.refused) {
      show("New", chooser(what, on), make("p", { class: "fault", role: "alert" }, told.refused), make("div", { class: "buttons" }, make("button", { type: "button", onclick: close }, "Leave it")));
      return;
    }
    asked = { what, on: told.on, values: {} };
    const fields = told.fields.map((one) => {
      if (one.written !== undefined) asked.values[one.name] = one.written;
      return field.line({ ...one, at: `new ${one.name}` }, (value) => (asked.values[one.name] = value), { name: one.key });
    });
    show(
      `New ${kind(what)}`,
      chooser(what, on),
      told.joins ? joins(what, told) : null,
      ...fields,
      make("p", { class: "fault", role: "alert", id: "dialog-fault" }),
      buttons("Add it", add),
    );
    const empty = [...dialog.querySelectorAll(".field input")].find((input) => input.value === "");
    (empty || dialog.querySelector(".field input, .field select")).focus();
  }

  function chooser(what, on) {
    const select = make("select", { "aria-label": "What is new" }, ...desk.sections().map((section) => make("option", { value: section, selected: section === what }, kind(section))));
    select.addEventListener("change", () => propose(select.value, on));
    return make("div", { class: "field" }, make("span", { class: "key" }, "what"), make("div", { class: "value" }, select));
  }

  /** Where it joins: a point, or a line that it splits. */
  function joins(what, told) {
    const value = (keys) => JSON.stringify(keys);
    const option = (section, tag) => make("option", { value: value([section, tag]), selected: value([section, tag]) === value(told.on) }, tag);
    const lines = make("optgroup", { label: "splits the line" }, ...desk.names("lines").map((tag) => option("lines", tag)));
    const points = what === "points" ? null : make("optgroup", { label: "at the point" }, ...desk.names("points").map((tag) => option("points", tag)));
    const select = make("select", { "aria-label": "Where it joins" }, ...[lines, points].filter(Boolean));
    select.addEventListener("change", () => propose(what, JSON.parse(select.value)));
    return make("div", { class: "field" }, make("span", { class: "key" }, "where"), make("div", { class: "value" }, select));
  }

  async function add() {
    // What is still being typed counts.
    for (const input of dialog.querySelectorAll(".field input")) input.dispatchEvent(new Event("change"));
    const { what, on, values } = asked;
    const answer = await desk.add(what, on, values);
    if (!answer) return;
    if (answer.refused) {
      say($("dialog-fault"), answer.refused);
      return;
    }
    close();
    desk.select([what, values.tag.trim()]);
  }

  /** Says what goes with a piece, and takes it away where that is wanted. */
  async function away() {
    const keys = desk.selected();
    if (!keys || keys.length !== 2) return;
    const told = await desk.ask("away", { keys, ask: true });
    if (!told || told.refused) return;
    const list = told.goes.map((words) => make("li", {}, ...prose(words)));
    // Nobody reads hundreds.
    const still = told.still.slice(0, 12).map((path) => make("li", {}, make("code", {}, path)));
    if (told.still.length > still.length) still.push(make("li", {}, `and ${told.still.length - still.length} more`));
    show(
      `Take ${keys[1]} away`,
      make("p", {}, list.length ? `With ${keys[1]} goes:` : `Nothing else hangs on ${keys[1]}.`),
      list.length ? make("ul", {}, ...list) : null,
      still.length ? make("p", {}, `Still named, and to be set anew: what ${keys[1]} was is gone there.`) : null,
      still.length ? make("ul", {}, ...still) : null,
      buttons("Take it away", async () => {
        close();
        desk.forget();
        await desk.ask("away", { keys });
      }),
    );
    dialog.querySelector("[data-do=go]").focus();
  }

  dialog.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.tagName === "INPUT" && dialog.querySelector("#dialog-fault")) {
      event.preventDefault();
      add();
    }
  });
  $("piece-new").addEventListener("click", start);
  $("piece-away").addEventListener("click", away);

  return { kind };
})();
