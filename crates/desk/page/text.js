// The file itself: typed into, with the lines marked that are not on disk, and errors at their lines.

const text = (() => {
  const area = $("typed");
  const gutter = $("gutter");
  /** The text that was typed over, and the newest that the program told, with its revision. */
  let base = "";
  let newest = "";
  let revision = 0;
  /** Whether what was typed is on its way. */
  let going = null;
  let gesture = null;
  let timer = 0;
  let pause = 0;
  let lines = 0;

  /** A page knows one line end only. */
  const plain = (whole) => whole.replaceAll("\r\n", "\n").replaceAll("\r", "\n");

  /** Shows the text of an answer, unless something was typed that it does not have yet. */
  function show(answer) {
    if (answer.text !== undefined) {
      newest = plain(answer.text);
      revision = answer.revision;
      if (!dirty()) take();
      // What could not be taken yet goes out once nothing is to be chosen any more.
      else if (!going && !answer.choice) wait();
      mark(answer);
    }
  }

  /** Takes the newest text over, as nothing is typed over another. */
  function take() {
    base = newest;
    if (area.value === newest) return;
    const { selectionStart, selectionEnd, scrollTop, scrollLeft } = area;
    area.value = newest;
    area.setSelectionRange(selectionStart, selectionEnd);
    area.scrollTop = scrollTop;
    area.scrollLeft = scrollLeft;
  }

  /** Whether something was typed that the program has not got yet. */
  const dirty = () => area.value !== base;

  function mark(answer) {
    const count = area.value.split("\n").length;
    if (count !== lines) {
      lines = count;
      gutter.replaceChildren(...Array.from({ length: count }, (_, index) => make("div", {}, String(index + 1))));
      gutter.append(make("div", {}, "\u00a0"));
    }
    for (const row of gutter.querySelectorAll("[class]")) row.removeAttribute("class");
    const put = (line, kind) => {
      const row = gutter.children[Math.max(line, 1) - 1];
      if (row) row.classList.add(kind);
    };
    answer.changed.lines.forEach((line) => put(line, "changed"));
    answer.changed.missing.forEach((line) => put(line, "missing"));
    for (const fault of answer.errors || []) put(fault.line, "wrong");
    const changed = answer.changed.lines.length + answer.changed.missing.length;
    say(
      $("text-note"),
      changed === 0
        ? "As it stands on disk."
        : `${changed} ${changed === 1 ? "line is" : "lines are"} not saved: ${listed(answer.changed.lines)}.`,
    );
    scroll();
  }

  /** Line numbers in words, runs of them as one. */
  function listed(all) {
    const runs = [];
    for (const line of all) {
      const last = runs[runs.length - 1];
      if (last && line === last[1] + 1) last[1] = line;
      else runs.push([line, line]);
    }
    const words = runs.slice(0, 8).map(([a, b]) => (a === b ? `${a}` : `${a} to ${b}`));
    return (words.join(", ") || "lines taken away") + (runs.length > 8 ? " and more" : "");
  }

  function scroll() {
    gutter.scrollTop = area.scrollTop;
  }

  /** What was typed, and over which text: over that of the revision, or over one that is none's any more. */
  function typed() {
    gesture = gesture || desk.gesture();
    return { gesture, revision, text: area.value, ...(base === newest ? {} : { base }) };
  }

  /** Sends what was typed until the program has all of it; says whether it has. */
  async function sending() {
    while (dirty()) {
      const body = typed();
      const answer = await desk.typed(body);
      if (!answer || answer.refused) return false;
      // Somebody changed the text meanwhile: what was typed goes out again, with the text below it.
      if (answer.stale) continue;
      base = body.text;
      if (!dirty()) take();
    }
    return true;
  }

  function wait() {
    clearTimeout(timer);
    timer = setTimeout(send, 250);
  }

  function send() {
    clearTimeout(timer);
    if (!going) going = sending().finally(() => (going = null));
    return going;
  }

  area.addEventListener("input", () => {
    clearTimeout(pause);
    wait();
    // A pause ends what is one step of undo.
    pause = setTimeout(() => flush().then(() => (gesture = null)), 1500);
  });
  area.addEventListener("scroll", scroll);
  area.addEventListener("blur", () => flush().then(() => (gesture = null)));

  /** Sends what was typed, before something else is done; says whether the program has all of it. */
  const flush = () => send();

  /** The page is left: what was typed last still goes out. */
  function leave() {
    if (dirty()) desk.last("text", typed());
  }

  /** Shows a line. */
  function reveal(line) {
    const before = area.value.split("\n").slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    const end = area.value.indexOf("\n", before);
    area.focus();
    area.setSelectionRange(before, end < 0 ? area.value.length : end);
    area.scrollTop = Math.max(0, (line - 5) * parseFloat(getComputedStyle(area).lineHeight));
    area.scrollIntoView({ block: "nearest" });
  }

  return { show, flush, leave, dirty, reveal, value: () => area.value };
})();
