// Fields: how a key of the file is shown, chosen and typed, wherever it is asked for.

const field = (() => {
  let count = 0;

  /** What is known of a value besides what is written. */
  function hint(told) {
    const parts = [told.meaning.charAt(0).toUpperCase() + told.meaning.slice(1)];
    if (told.required) parts.push("needed");
    if (told.default !== undefined) parts.push(`${told.default} where left out`);
    if (told.unit) parts.push(`bare numbers: ${told.unit}`);
    return parts.join("; ");
  }

  /** The types of pipes, those of the job first, each with its sizes. */
  const shelf = () => ({ ...desk.ownPipes(), ...desk.catalogue().pipes });

  /** A pipe as `TYPE SIZE`, apart; nothing where it is none of the shelf. */
  function apart(value) {
    const known = Object.keys(shelf()).filter((type) => value.startsWith(`${type} `));
    const type = known.sort((a, b) => b.length - a.length)[0];
    return type === undefined ? null : [type, value.slice(type.length + 1).trim()];
  }

  function options(list, chosen) {
    return list.map((one) => make("option", { value: one, selected: one === chosen }, one));
  }

  /** A choice of words, with what is written among them, whatever it says. */
  function choice(told, put) {
    const written = told.written ?? "";
    const known = told.choices.includes(written) ? told.choices : [written, ...told.choices].filter((one) => one !== "");
    const nothing = told.required && written ? null : make("option", { value: "", selected: written === "" }, told.default ? `(${told.default})` : "\u2013");
    const select = make("select", {}, nothing, ...options(known, written));
    if (told.rows_of === "shares" && told.keys) select.append(make("option", { value: "\u0000" }, "shares for several\u2026"));
    select.addEventListener("change", () => {
      if (select.value === "\u0000") put({ [written || told.choices[0] || "D1"]: "100 %" });
      else put(select.value);
    });
    return select;
  }

  /** A pipe of the shelf by its type and its size. */
  function pipe(told, put, name) {
    const written = told.written ?? "";
    const parted = apart(written);
    if (written && !parted) return typed(told, put);
    const [type, size] = parted || ["", ""];
    const own = Object.keys(desk.ownPipes());
    const listed = Object.keys(desk.catalogue().pipes);
    const types = make("select", { "aria-label": `${name} type` });
    if (!type) types.append(make("option", { value: "", selected: true }, "\u2013"));
    if (own.length) types.append(make("optgroup", { label: "of this job" }, ...options(own, type)));
    types.append(make("optgroup", { label: "catalogue" }, ...options(listed, type)));
    const sizes = make("select", { "aria-label": `${name} size` });
    const fill = () => {
      const all = shelf()[types.value] || [];
      const keeps = all.includes(size) || types.value === type;
      const list = types.value === type && size && !all.includes(size) ? [size, ...all] : all;
      const open = told.open && types.value ? [make("option", { value: "any" }, "left open")] : [];
      sizes.replaceChildren(...(keeps ? [] : [make("option", { value: "", selected: true }, "size\u2026")]), ...options(list, size), ...open);
      return keeps && size !== "";
    };
    fill();
    const send = () => {
      if (!types.value || !sizes.value) return;
      put(sizes.value === "any" ? { type: types.value, size: "any" } : `${types.value} ${sizes.value}`);
    };
    types.addEventListener("change", () => (fill() ? send() : sizes.focus()));
    sizes.addEventListener("change", send);
    return make("span", { class: "pair" }, types, sizes);
  }

  /** What is typed as it stands in the file. */
  function typed(told, put) {
    const written = told.written ?? told.part ?? "";
    const input = make("input", { type: "text", value: written, placeholder: told.default, spellcheck: "false", autocomplete: "off", autocapitalize: "off" });
    input.known = written;
    const done = () => {
      if (input.value.trim() === input.known.trim()) return;
      input.known = input.value;
      put(input.value);
    };
    input.addEventListener("change", done);
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") done();
      if (event.key === "Escape" && input.value !== input.known) {
        event.stopPropagation();
        input.value = input.known;
      }
    });
    return input;
  }

  /**
   * A key with its value. `put` takes what is to stand there, as a text, or for a mapping as an object
   * of texts; `name` is what it is called where its key alone does not say.
   */
  function line(told, put, { name = told.key, extra = null } = {}) {
    const id = `f${++count}`;
    const control = control_of(told, put, name);
    const named = control.matches("input, select, textarea") ? control : control.querySelector("select, input");
    named.id = id;
    named.written = told.written;
    named.setAttribute("aria-describedby", `${id}h ${id}e`);
    if (told.required) named.setAttribute("aria-required", "true");
    const element = make(
      "div",
      { class: "field", "data-at": told.at },
      make("label", { for: id }, told.key.replaceAll("_", " "), told.unit && told.bare !== false ? make("small", {}, ` ${told.unit}`) : null),
      make("div", { class: "value" }, control, extra),
      make("p", { class: "hint", id: `${id}h` }, ...prose(hint(told))),
      make("p", { class: "fault", id: `${id}e` }),
    );
    element.control = named;
    return element;
  }

  function control_of(told, put, name) {
    if (told.shape === "pipe") return pipe(told, put, name);
    if (told.choices && told.part === undefined) return choice(told, put);
    return typed(told, put);
  }

  return { line, hint };
})();
