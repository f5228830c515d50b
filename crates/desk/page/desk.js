// What is on the desk: the last answer, what is selected, and the calls in between.

const desk = (() => {
  /** Whether the last answer has to be drawn for another screen. */
  let anew = false;
  const view = { rain: 1, tanks: null, downspout: null, piece: null };
  let latest = { revision: 0, news: 0 };
  /** Questions are numbered: an answer that comes after that to a later one is old. */
  let asking = 0;
  let answered = 0;
  /** The last answer that was true of its text. */
  let good = null;
  let shelf = { pipes: {}, fittings: [] };
  /** Every name in the file, by section. */
  let pieces = { items: {}, parts: [], pipes: {} };
  let lost = false;
  let resting = 0;
  let calling = null;
  /** A hand's moves: one is on its way, the latest waits. */
  const hand = { going: false, next: null, done: Promise.resolve() };
  let count = 0;
  const page = Math.random().toString(36).slice(2, 8);

  const narrow = matchMedia("(max-width: 44rem)");
  const room = () => (narrow.matches ? "narrow" : $("values").checked ? "full" : "low");
  const asked = () => ({ ...view, room: room(), blank: good === null || anew, has: pictures.latest() });
  const gesture = () => `${page}-${++count}`;
  const editable = () => !lost && !(latest.choice && latest.choice.why === "kept");

  /** Calls the program, shows what it says, and gives it. */
  async function ask(name, body = {}, began = performance.now()) {
    const number = ++asking;
    let answer;
    try {
      answer = await server.call(name, { view: asked(), ...body });
    } catch (error) {
      gone(error);
      return null;
    }
    back();
    take(answer, number, began);
    return answer;
  }

  /** Takes an answer in, unless a later one is shown already. */
  function take(answer, number, began) {
    if (answer.revision === undefined) return;
    const later = answer.revision - latest.revision || answer.news - latest.news || number - answered;
    if (later < 0) return;
    if (!pictures.fill(answer)) {
      ask("look");
      return;
    }
    answered = number;
    const other = answer.revision !== latest.revision;
    latest = answer;
    if (other) further.changed();
    if (answer.catalogue) shelf = answer.catalogue;
    if (answer.pieces) pieces = answer.pieces;
    if (view.piece === null && answer.piece) view.piece = answer.piece.keys;
    if (answer.errors && answer.errors.length === 0 && !answer.unsolved) {
      good = answer;
      anew = false;
      show(answer);
    } else if (answer.last && (!good || anew)) {
      good = { ...answer, ...answer.last };
      anew = false;
      show(good);
    }
    frame(answer);
    painted(() => {
      const took = performance.now() - began;
      say($("took"), `\u00b7 answered in ${took < 1000 ? `${Math.round(took)} ms` : `${(took / 1000).toFixed(1)} s`}`);
      performance.measure("answer", { start: began, end: began + took });
    });
    if (!section.busy() && good && !whole()) rest();
  }

  /** Does something once what was drawn stands on the screen. */
  function painted(then) {
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = then;
      channel.port2.postMessage(0);
    });
  }

  /** Shows what is true at once. */
  function show(answer) {
    $("main").hidden = false;
    say($("site"), answer.site);
    // What took longer still holds where only the view is another.
    const more = whole();
    sentence((more && more.sentence) || answer.sentence);
    tables.draw((more && more.tables) || answer.tables);
    section.draw(answer.section);
    say($("section-title"), answer.section ? answer.section.title : "Long section");
    storm.show(answer.storm);
  }

  /** What an answer is to: the text and the storm. */
  const key = (answer) => JSON.stringify([answer.revision, answer.storm.times, answer.storm.tanks]);
  let rested = null;
  /** What took longer, where it belongs to the answer that is shown. */
  const whole = () => (rested && good && key(rested) === key(good) ? rested : null);

  function titled(words) {
    if (document.title !== words) document.title = words;
  }

  function sentence(told) {
    const verdict = $("verdict");
    verdict.classList.remove("waiting");
    verdict.classList.toggle("bad", !told.holds);
    // Nothing is read out while a hand moves.
    verdict.setAttribute("aria-busy", section.busy() ? "true" : "false");
    say($("word"), told.word);
    say($("cause"), told.whole ? told.cause : `${told.cause}; \u2026`);
    say($("under"), told.under);
    titled(`${told.word}: ${$("site").textContent}`);
  }

  /** What every answer tells: the state of the file, errors, and whether the picture is true. */
  function frame(answer) {
    if (answer.text !== undefined) {
      const empty = answer.new && answer.text === "";
      begin.draw(empty);
      if (empty) {
        say($("file"), `${answer.file} (not written yet)`);
        say($("word"), "NEW SITE");
        say($("cause"), "answer the questions, or leave what is usual");
        $("main").hidden = true;
        for (const id of ["undo", "redo", "save"]) $(id).disabled = id !== "redo" || !answer.redo;
        choice.draw(answer.choice, answer.revision);
        text.show(answer);
        return;
      }
    }
    age(answer);
    say($("file"), answer.file + (answer.new ? " (not written yet)" : answer.gone ? " (gone from the disk: saving writes it anew)" : ""));
    $("undo").disabled = !answer.undo || !editable();
    $("redo").disabled = !answer.redo || !editable();
    $("save").disabled = (answer.saved && !answer.gone) || Boolean(answer.choice) || lost;
    say($("saved"), answer.saved ? "saved" : "not saved");
    notices(answer);
    choice.draw(answer.choice, answer.revision);
    text.show(answer);
    const faults = [...(answer.errors || []), ...(answer.cautions || [])];
    listed(faults);
    piece.list(pieces, view.piece);
    piece.told(faults);
    if (answer.piece !== undefined) piece.draw(answer.piece);
    if (answer.levels) piece.levels(answer.levels);
    if (answer.piece !== undefined) item = answer.piece !== null;
    $("piece-away").disabled = view.piece === null || view.piece.length !== 2 || !item || !editable();
    $("piece-new").disabled = !editable();
  }

  /** Greys whatever is not the answer to the text as it is. */
  function age(answer) {
    const more = whole();
    const [errors, unsolved] = [answer, more || {}].map((one) => [one.errors || [], one.unsolved]).find(([list, words]) => list.length || words) || [[], ""];
    const old = Boolean(errors.length || unsolved);
    for (const id of ["section-figure", "tables"]) $(id).classList.toggle("old-picture", old);
    // Plan and review come later than the rest: until then they are those of another text or storm.
    $("plan-figure").classList.toggle("old-picture", old || !more);
    $("findings").classList.toggle("old-picture", old || !more || !more.review);
    $("verdict").classList.toggle("old", old);
    // Before there was any answer there is nothing to grey: fields, errors and the text are all there is.
    $("main").classList.toggle("nothing", !good);
    if (!old) return;
    if (!good) say($("site"), answer.file.split(/[\\/]/).pop());
    say($("word"), good ? "NOT CURRENT" : "NO ANSWER");
    say($("cause"), unsolved || errorsInWords(errors));
    say($("under"), good ? "What is greyed is the last answer, not that of the text as it is." : "");
    titled(`not current: ${$("site").textContent}`);
    $("main").hidden = false;
  }

  /** Errors and cautions, each with ways to its field and to its line. */
  function listed(faults) {
    const home = $("faults");
    const words = JSON.stringify(faults.map((fault) => [fault.line, fault.message, fault.expected, fault.key]));
    if (home.dataset.words === words) return;
    home.dataset.words = words;
    const item = (fault) =>
      make(
        "li",
        { class: fault.caution ? "caution" : null },
        fault.key ? make("button", { type: "button", class: "tag", onclick: () => piece.open(fault.key) }, fault.key) : null,
        make("button", { type: "button", class: "tag", onclick: () => text.reveal(fault.line) }, `line ${fault.line}`),
        " ",
        ...prose(fault.message),
        fault.expected ? make("span", { class: "expected" }, "expected ", ...prose(fault.expected)) : null,
      );
    home.replaceChildren(...faults.map(item));
  }

  function errorsInWords(errors) {
    const [first] = errors;
    const more = errors.length > 1 ? ` (and ${errors.length - 1} more)` : "";
    return `line ${first.line}: ${first.message}${more}`;
  }

  /** Whether what is selected is in the file. */
  let item = false;

  let refusal = "";
  function notices(answer) {
    if (answer.refused !== undefined) refusal = answer.refused;
    else if (!section.busy()) refusal = "";
    const list = [...(answer.troubles || [])];
    if (refusal) list.push(refusal);
    const home = $("notices");
    const words = list.join("\n");
    if (home.dataset.words === words) return;
    home.dataset.words = words;
    home.replaceChildren(...list.map((line) => make("p", {}, line)));
  }

  function callOff() {
    clearTimeout(resting);
    if (calling) calling.abort();
    calling = null;
  }

  /** Once the hand rests: spill rains and plan, then the review; called off by whatever comes next. */
  function rest() {
    callOff();
    resting = setTimeout(async () => {
      if (!good || latest.revision !== good.revision) return;
      const call = new AbortController();
      calling = call;
      const began = performance.now();
      const body = { view: asked(), revision: latest.revision };
      try {
        const answer = await server.call("rest", body, { signal: call.signal });
        if (answer.stale || key(answer) !== key(good) || section.busy()) return;
        rested = answer;
        if (answer.sentence) {
          sentence(answer.sentence);
          tables.draw(answer.tables);
          plan.draw(answer.plan);
        }
        age(latest);
        performance.measure("rest", { start: began, end: performance.now() });
        if (!answer.sentence) return;
        const found = await server.call("review", body, { signal: call.signal });
        if (!found.review || rested !== answer) return;
        answer.review = found.review;
        review.draw(found.review);
        age(latest);
      } catch (error) {
        if (error.name !== "AbortError") gone(error);
      }
    }, 150);
  }

  /** A move of a level: the latest one waits while one is on its way. */
  function move(name, handle, by) {
    callOff();
    // Who waits already has waited since then.
    const began = hand.next ? hand.next.began : performance.now();
    hand.next = { gesture: name, tag: handle.tag, key: handle.key, by, began };
    if (!hand.going) hand.done = go();
  }

  async function go() {
    hand.going = true;
    while (hand.next) {
      const { began, ...body } = hand.next;
      hand.next = null;
      await ask("move", body, began);
    }
    hand.going = false;
  }

  async function letGo(name) {
    await hand.done;
    await ask("let-go", { gesture: name });
  }

  async function giveUp(name) {
    hand.next = null;
    await hand.done;
    await ask("let-go", { gesture: name, give_up: true });
  }

  const typed = (body) => ask("text", body);

  /** Calls once more while the page goes away; nobody waits for the answer. */
  const last = (name, body) => server.call(name, { view: asked(), ...body }, { keepalive: true }).catch(() => {});

  const settle = (number, revision, mine) => ask("settle", { choice: number, revision, mine });

  /** Does something to the file once all that was typed is there. */
  async function act(name) {
    section.leave();
    await hand.done;
    if (await text.flush()) await ask(name);
  }

  const put = (keys, value) => ask("put", { keys, value });
  const takeAway = (keys) => ask("take", { keys });
  const station = (line) => ask("station", { line });
  const place = (tag, by) => ask("place", { tag, by });
  const add = (what, on, values) => ask("new", { what, on, values });

  const suggest = (what, on) => plainly("suggest", { what, on });

  /** Asks what changes nothing and shows nothing by itself. */
  async function plainly(name, body) {
    try {
      return await server.call(name, body);
    } catch (error) {
      gone(error);
      return null;
    }
  }

  /** Selects a piece by its keys; a downspout's route comes into view. */
  function select(keys, { quiet = false } = {}) {
    const same = JSON.stringify(keys) === JSON.stringify(view.piece);
    view.piece = keys;
    plan.mark();
    tables.mark();
    const spout = keys[0] === "downspouts" && keys.length === 2;
    const other = spout && !quiet && view.downspout !== keys[1];
    if (other) view.downspout = keys[1];
    if ((!same || other) && !hand.going) ask("look");
  }

  const sorts = ["downspouts", "points", "lines", "tanks"];

  /** The keys of what a tag names; nothing where nothing has it. */
  function named(tag) {
    const section = [...sorts, "roofs", "gutters"].find((one) => (pieces.items[one] || []).includes(tag));
    return section ? [section, tag] : null;
  }

  /** The piece that a key path belongs to. */
  function owner(path) {
    for (const [section, all] of Object.entries(pieces.items)) {
      if (!path.startsWith(`${section}.`)) continue;
      const rest = path.slice(section.length + 1);
      const tags = all.filter((tag) => rest === tag || rest.startsWith(`${tag}.`) || rest.startsWith(`${tag}[`));
      const tag = tags.sort((a, b) => b.length - a.length)[0];
      if (tag !== undefined) return [section, tag];
    }
    const part = pieces.parts.find((one) => path === one || path.startsWith(`${one}.`));
    return part ? [part] : [];
  }

  /** The program is gone: nothing is lost, and that is said. */
  function gone(error) {
    const stranger = error instanceof server.Stranger;
    if (!stranger && !(error instanceof server.Lost)) throw error;
    if (lost) return;
    lost = true;
    const words = stranger
      ? "This address is not that of a running desk. Open the one that the program printed when it started."
      : "The program does not answer. Start it again: what was not saved is kept beside the file, and it offers to take that back.";
    const home = $("notices");
    home.dataset.words = "lost";
    const copy = make("button", { type: "button", onclick: keepCopy }, "Keep the text as a file");
    home.replaceChildren(make("p", {}, words, latest.revision ? copy : null));
    if (!latest.revision) say($("word"), "\u2026");
    for (const id of ["undo", "redo", "save"]) $(id).disabled = true;
    say($("saved"), text.dirty() || !latest.saved ? "not saved" : "saved");
    $("verdict").classList.add("old");
  }

  function back() {
    if (!lost) return;
    lost = false;
    $("notices").dataset.words = "";
    $("notices").replaceChildren();
  }

  /** What stands on the page, for whoever would rather hold it in the hand. */
  function keepCopy() {
    const link = make("a", { download: "site.yaml", href: URL.createObjectURL(new Blob([text.value()], { type: "text/plain" })) });
    link.click();
    URL.revokeObjectURL(link.href);
  }

  /** News of the file and of other pages. */
  async function listen() {
    for (;;) {
      try {
        const answer = await server.call("news", { known: latest.news });
        if (lost) {
          back();
          await ask("look");
        } else if (section.busy() || hand.going) {
          // What moves is told with each move; the rest has time until the hand lets go.
          await new Promise((done) => setTimeout(done, 250));
        } else if (answer.news !== latest.news) {
          await ask("look");
        }
      } catch (error) {
        gone(error);
        if (error instanceof server.Stranger) return;
        await new Promise((done) => setTimeout(done, 1000));
      }
    }
  }

  const storm = (() => {
    const slider = $("rain");
    let wanted = null;
    let going = false;
    async function go() {
      going = true;
      while (wanted !== null) {
        wanted = null;
        await ask("look");
      }
      going = false;
    }
    slider.addEventListener("input", () => {
      view.rain = Number(slider.value) / 100;
      wanted = view.rain;
      if (!going) go();
    });
    for (const radio of document.querySelectorAll("input[name=tanks]")) {
      radio.addEventListener("change", () => {
        view.tanks = radio.value;
        ask("look");
      });
    }
    $("own-storm").addEventListener("click", () => {
      view.rain = 1;
      view.tanks = null;
      ask("look");
    });
    return {
      show(told) {
        if (document.activeElement !== slider || !going) slider.value = Math.round(told.times * 100);
        slider.setAttribute("aria-valuetext", told.asked);
        say($("rain-own"), `${told.own} in the file`);
        say($("rain-most"), told.most);
        const own = told.times === 1 && told.tanks === told.own_tanks;
        say($("rain-asked"), told.times === 1 ? told.asked : `${told.asked}, ${Math.round(told.times * 100)} %`);
        $("own-storm").disabled = own;
        for (const radio of document.querySelectorAll("input[name=tanks]")) radio.checked = radio.value === told.tanks;
      },
    };
  })();

  async function start() {
    if (!server.known) {
      gone(new server.Stranger());
      return;
    }
    for (const name of ["undo", "redo", "save"]) $(name).addEventListener("click", () => act(name));
    addEventListener("keydown", (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
      const key = event.key.toLowerCase();
      const name = key === "z" ? (event.shiftKey ? "redo" : "undo") : key === "y" ? "redo" : key === "s" ? "save" : null;
      if (!name) return;
      event.preventDefault();
      if (!$(name).disabled || text.dirty()) act(name);
    });
    addEventListener("pagehide", () => {
      section.leave();
      text.leave();
    });
    $("values").checked = innerHeight >= 1000;
    const redraw = () => {
      anew = true;
      ask("look");
    };
    $("values").addEventListener("change", redraw);
    narrow.addEventListener("change", redraw);
    const told = await ask("open");
    if (told) listen();
  }

  return {
    start, ask, last, plainly, gesture, editable, move, letGo, giveUp, typed, settle, select, named, owner, put, station, place, add, suggest,
    take: takeAway,
    selected: () => view.piece,
    revision: () => latest.revision,
    lostTo: (error) => gone(error),
    forget: () => (view.piece = null),
    chosenTag: () => (view.piece && view.piece.length === 2 && sorts.includes(view.piece[0]) ? view.piece[1] : null),
    catalogue: () => shelf,
    ownPipes: () => pieces.pipes || {},
    names: (section) => pieces.items[section] || [],
    sections: () => ["downspouts", "points", "lines", "tanks", "roofs", ...Object.keys(pieces.items).filter((one) => ![...sorts, "roofs"].includes(one))],
  };
})();

desk.start();
