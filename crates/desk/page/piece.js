// The piece: every key that what is selected may have, and what can be done with it.

const piece = (() => {
  const home = $("piece-body");
  const picker = $("piece-pick");
  let shown = null;
  let shape = "";
  let faults = [];
  /** Parts that were opened or closed by hand, by what they are. */
  const opened = new Map();
  /** A field to go to once it is there. */
  let wanted = null;

  const put = (keys) => (value) => desk.put(keys, value);

  /** Draws what is selected, keeping what is being typed. */
  function draw(told) {
    shown = told;
    say($("piece-title"), told ? title(told) : "Piece");
    if (!told) {
      shape = "";
      home.replaceChildren(make("p", { class: "where" }, "Nothing is selected, or the file does not have it any more."));
      return;
    }
    const next = JSON.stringify(told, (key, value) => (key === "written" ? true : value));
    if (next !== shape || !updated(told.fields)) {
      shape = next;
      const focus = focused();
      home.replaceChildren(...body(told));
      refocus(focus);
    }
    mark();
    if (wanted) go(wanted);
  }

  /** What it is and its tag: `Downspout D2`. */
  function title(told) {
    const what = told.what.replace(/^(an?|the) /, "").replaceAll("`", "").replaceAll("_", " ");
    return `${what.charAt(0).toUpperCase()}${what.slice(1)} ${told.keys.length === 2 ? told.keys[1] : ""}`.trim();
  }

  /** Takes new values over where nothing else changed; says whether that was enough. */
  function updated(fields) {
    return fields.every((told) => {
      if (!updated([...(told.fields || []), ...(told.rows || []), ...(told.items || []).flatMap((one) => one.fields)])) return false;
      if (told.written === undefined) return true;
      const element = home.querySelector(`[data-at=${CSS.escape(told.at)}]`);
      const control = element && element.control;
      if (!control) return false;
      if (control.tagName !== "INPUT") return control.written === told.written;
      if (control.known === told.written) return true;
      if (control.value === control.known) control.value = told.written;
      control.known = told.written;
      return true;
    });
  }

  /** Levels that a hand moves, each at its field. */
  function levels(list) {
    for (const [at, written] of list) {
      const element = home.querySelector(`[data-at=${CSS.escape(at)}]`);
      const control = element && element.control;
      if (!control || control.tagName !== "INPUT" || control.known === written) continue;
      if (control.value === control.known) control.value = written;
      control.known = written;
    }
  }

  /** Where the keyboard is, to be there again. */
  function focused() {
    const at = document.activeElement;
    if (!at || !home.contains(at)) return null;
    const all = [...home.querySelectorAll("input, select, button, summary")];
    const place = at.closest("[data-at]");
    return {
      at: place && place.dataset.at,
      index: place ? [...place.querySelectorAll("input, select, button, summary")].indexOf(at) : all.indexOf(at),
      name: at.getAttribute("data-do") || null,
      typed: at.tagName === "INPUT" && at.value !== at.known ? at.value : null,
      range: at.tagName === "INPUT" && at.type === "text" ? [at.selectionStart, at.selectionEnd] : null,
    };
  }

  function refocus(focus) {
    if (!focus) return;
    const place = focus.at !== null && home.querySelector(`[data-at=${CSS.escape(focus.at)}]`);
    const all = [...(place || home).querySelectorAll("input, select, button, summary")];
    const element = all[focus.index] || (place && all[0]);
    if (!element) return;
    if (focus.typed !== null && element.tagName === "INPUT") element.value = focus.typed;
    element.focus({ preventScroll: true });
    if (focus.range && element.tagName === "INPUT" && element.type === "text") element.setSelectionRange(...focus.range);
  }

  const given = (told) => told.written !== undefined || told.part !== undefined;
  const worth = (told) =>
    given(told) || told.required || (told.shape === "rows" && told.rows.length > 0) || (told.shape === "items" && told.items.length > 0);

  function body(told) {
    const [first, more, review] = [
      told.fields.filter(worth),
      told.fields.filter((one) => !worth(one) && !one.review),
      told.fields.filter((one) => !worth(one) && one.review),
    ];
    return [
      ...first.map((one) => entry(one)),
      fold("more", `Other keys it may have: ${names(more)}`, more),
      fold("review", `Keys that the review asks for: ${names(review)}`, review),
    ].filter(Boolean);
  }

  const names = (list) => list.map((one) => one.key.replaceAll("_", " ")).join(", ");

  function fold(name, words, list) {
    if (list.length === 0) return null;
    const details = make("details", { class: "fold", open: opened.get(name) }, make("summary", {}, words), ...list.map((one) => entry(one)));
    details.addEventListener("toggle", () => opened.set(name, details.open));
    return details;
  }

  /** One key, however it is filled in. */
  function entry(told, above = "") {
    const name = `${above} ${told.key}`.trim().replaceAll("_", " ");
    if (told.shape === "group") return group(told, name);
    if (told.shape === "rows") return rows(told, name);
    if (told.shape === "items") return items(told, name);
    if (told.part !== undefined && told.part.includes("\n")) return elsewhere(told, name);
    const element = field.line(told, put(told.keys), { name });
    if (told.moved) steps(element.control, told);
    if (told.shape === "device") element.append(inner(told, name));
    return element;
  }

  function group(told, name) {
    const pipe = told.open !== undefined;
    const type = pipe && told.fields.find((one) => one.key === "type");
    const fields = told.fields.map((one) => {
      if (!pipe) return one;
      const all = { ...desk.ownPipes(), ...desk.catalogue().pipes };
      if (one.key === "type") return { ...one, choices: Object.keys(all) };
      if (one.key === "size" && one.part === undefined) return { ...one, choices: [...(all[type.written] || []), "any"] };
      return one;
    });
    const parts = [make("legend", {}, told.key.replaceAll("_", " ")), make("p", { class: "hint" }, ...prose(field.hint(told)))];
    if (given(told)) return make("fieldset", { class: "group", "data-at": told.at }, ...parts, ...fields.map((one) => entry(one, name)));
    return inner({ ...told, fields }, name);
  }

  /** Keys below a key that is not there yet. */
  function inner(told, name) {
    const key = `in ${told.at}`;
    const details = make(
      "details",
      { class: "fold", "data-at": told.shape === "device" ? null : told.at, open: opened.get(key) },
      make("summary", {}, told.key.replaceAll("_", " "), make("span", { class: "hint" }, " ", ...prose(told.meaning))),
      ...told.fields.map((one) => entry(one, name)),
    );
    details.addEventListener("toggle", () => opened.set(key, details.open));
    return details;
  }

  const remove = (keys, label) =>
    make("button", { type: "button", class: "small", "aria-label": `Take ${label} away`, onclick: () => desk.take(keys) }, "\u00d7");

  /** Rows of a name and a number: fittings, shares, depths. */
  function rows(told, name) {
    const known = { fittings: [...desk.names("fittings"), ...desk.catalogue().fittings.map((one) => one.name)], shares: told.choices || [], depths: null }[told.rows_of];
    const list = told.rows.map((row) => {
      const one = { key: row.name, keys: row.keys, at: row.at, meaning: about(told, row.name), written: row.written };
      return field.line(one, put(row.keys), { name: `${name} ${row.name}`, extra: remove(row.keys, row.name) });
    });
    const free = known && known.filter((one) => !told.rows.some((row) => row.name === one));
    const first = { fittings: "1", shares: "50 %", depths: told.example }[told.rows_of];
    const fresh = known
      ? make("select", { "aria-label": `Add to ${name}` }, make("option", { value: "" }, "add\u2026"), ...free.map((one) => make("option", { value: one }, one)))
      : make("input", { type: "text", "aria-label": `Duration to add to ${name}`, placeholder: "duration to add" });
    fresh.addEventListener("change", () => {
      if (!fresh.value.trim()) return;
      desk.put([...told.keys, fresh.value.trim()], known ? first : "0");
    });
    return make(
      "fieldset",
      { class: "group rows-of", "data-at": told.at },
      make("legend", {}, told.key.replaceAll("_", " ")),
      make("p", { class: "hint" }, ...prose(field.hint(told))),
      make("p", { class: "fault" }),
      ...list,
      make("div", { class: "field" }, make("span"), make("div", { class: "value" }, fresh)),
    );
  }

  function about(told, row) {
    if (told.rows_of !== "fittings") return "";
    const found = desk.catalogue().fittings.find((one) => one.name === row);
    return found ? `${found.what}, K ${found.k}` : "of this job";
  }

  /** Items with keys of their own: stations of a profile, sizes of a pipe type. */
  function items(told, name) {
    const list = told.items.map((one, index) => {
      const label = told.list ? `${told.key} ${index + 1}` : one.name;
      return make(
        "fieldset",
        { class: told.list ? "station" : "group", "aria-label": `${name} ${told.list ? index + 1 : one.name}` },
        told.list ? null : make("legend", {}, one.name),
        ...one.fields.map((inner) => entry(inner, label)),
        remove(one.keys, label),
      );
    });
    const profile = told.keys[0] === "lines" && told.key === "profile";
    const add = profile
      ? make("button", { type: "button", "data-do": "station", onclick: () => desk.station(told.keys[1]) }, told.items.length ? "Add a station" : "Give it a profile")
      : newcomer(told, name);
    return make(
      "fieldset",
      { class: "group", "data-at": told.at },
      make("legend", {}, told.key.replaceAll("_", " ")),
      make("p", { class: "hint" }, ...prose(field.hint(told))),
      make("p", { class: "fault" }),
      ...list,
      make("div", { class: "field" }, make("span"), make("div", { class: "value" }, add)),
    );
  }

  function newcomer(told, name) {
    const input = make("input", { type: "text", "aria-label": `Name to add to ${name}`, placeholder: "name to add" });
    input.addEventListener("change", () => input.value.trim() && desk.put([...told.keys, input.value.trim()], {}));
    return input;
  }

  /** What takes more than a line is written in the file. */
  function elsewhere(told, name) {
    return make(
      "div",
      { class: "field", "data-at": told.at },
      make("span", { class: "key" }, told.key.replaceAll("_", " ")),
      make("div", { class: "value" }, make("button", { type: "button", "aria-label": `${name} in the file`, onclick: () => text.reveal(told.line) }, `In the file, line ${told.line}`)),
      make("p", { class: "hint" }, ...prose(field.hint(told))),
      make("p", { class: "fault" }),
    );
  }

  /** A level goes up and down by the arrow keys, as its handle does. */
  function steps(input, told) {
    let gesture = null;
    let done = 0;
    let fine = false;
    const key = handKey(told.keys.slice(2));
    const end = () => {
      if (gesture) desk.letGo(gesture);
      gesture = null;
    };
    input.addEventListener("keydown", (event) => {
      const by = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      if (!by || event.ctrlKey || event.altKey || event.metaKey || input.value !== input.known || !desk.editable()) return;
      event.preventDefault();
      if (gesture && fine !== event.shiftKey) end();
      if (!gesture) [gesture, done, fine] = [desk.gesture(), 0, event.shiftKey];
      done += by;
      desk.move(gesture, { tag: told.keys[1], key }, fine ? { fine_steps: done } : { steps: done });
    });
    input.addEventListener("keyup", (event) => event.key !== "Shift" && end());
    input.addEventListener("blur", end);
  }

  const handKey = (keys) => keys.map((key, index) => (/^\d+$/.test(key) ? `[${key}]` : index ? `.${key}` : key)).join("");

  /** Puts each error at its field. */
  function mark() {
    for (const element of home.querySelectorAll("[data-at]")) {
      const own = faults.filter((fault) => at(fault, element));
      const words = own.map((fault) => fault.message + (fault.expected ? `; expected ${fault.expected}` : "")).join(". ");
      const place = element.querySelector(":scope > .fault");
      if (place) say(place, words);
      element.classList.toggle("wrong", own.some((fault) => !fault.caution));
      const control = element.control;
      if (control) {
        if (own.length) control.setAttribute("aria-invalid", "true");
        else control.removeAttribute("aria-invalid");
      }
    }
  }

  /** Whether an error is that of a field, or of something below it that has none. */
  function at(fault, element) {
    const here = element.dataset.at;
    if (fault.key === here) return true;
    if (!fault.key.startsWith(`${here}.`) && !fault.key.startsWith(`${here}[`)) return false;
    return element.querySelector("[data-at]") === null;
  }

  /** Errors and cautions, for whichever piece is shown. */
  function told(list) {
    const same = JSON.stringify(list) === JSON.stringify(faults);
    faults = list;
    if (shown && !same) mark();
  }

  /** Goes to a field, opening what hides it. */
  function go(path) {
    const all = [...home.querySelectorAll("[data-at]")];
    const found = all.filter((element) => path === element.dataset.at || path.startsWith(`${element.dataset.at}.`) || path.startsWith(`${element.dataset.at}[`));
    const best = found.sort((a, b) => b.dataset.at.length - a.dataset.at.length)[0];
    if (!best) return;
    wanted = null;
    for (let above = best; above && above !== home; above = above.parentElement) {
      if (above.tagName === "DETAILS") above.open = true;
    }
    const control = best.control || best.querySelector("input, select, summary, button");
    if (control) control.focus({ preventScroll: true });
    best.scrollIntoView({ block: "center" });
  }

  /** Opens the field of a key path, whichever piece has it. */
  function open(path) {
    wanted = path;
    const keys = desk.owner(path);
    if (keys && JSON.stringify(keys) !== JSON.stringify(desk.selected())) desk.select(keys);
    else if (shown) go(path);
  }

  let listed = {};

  /** The pieces to choose from. */
  function list(pieces, chosen) {
    const value = (keys) => JSON.stringify(keys);
    const now = value(chosen);
    // While a hand moves the pieces are the very same object.
    if (listed.pieces === pieces && listed.now === now) return;
    const key = JSON.stringify([pieces, now]);
    const same = listed.key === key;
    listed = { pieces, now, key };
    if (same) return;
    const option = (keys, words) => make("option", { value: value(keys), selected: value(keys) === now }, words);
    const groups = Object.entries(pieces.items)
      .filter(([, all]) => all.length)
      .map(([section, all]) => make("optgroup", { label: section }, ...all.map((tag) => option([section, tag], tag))));
    const parts = [option([], "the site"), ...pieces.parts.map((part) => option([part], part))];
    picker.replaceChildren(make("optgroup", { label: "site" }, ...parts), ...groups);
    picker.value = now;
    if (picker.selectedIndex < 0) picker.prepend(make("option", { value: now, selected: true }, "\u2013"));
  }

  picker.addEventListener("change", () => desk.select(JSON.parse(picker.value)));

  return { draw, levels, told, open, list };
})();
