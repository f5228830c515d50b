// Two texts of which a person takes one, the other, or some lines of each.

const choice = (() => {
  const home = $("choice");
  let shown = null;

  const overwritten = "Nothing is overwritten: choose for each difference, or take one side.";
  const reasons = {
    disk: {
      title: "The file changed on disk meanwhile",
      words: overwritten,
      mine: "on this page",
      theirs: "in the file",
      all: ["Keep this page's text", "Take the file's text"],
    },
    kept: {
      title: "Edits of an earlier run were not saved",
      words: "Take them back, leave the file as it is, or choose line by line.",
      mine: "not saved",
      theirs: "in the file",
      all: ["Take all edits back", "Leave them"],
    },
    typed: {
      title: "The same lines were changed elsewhere while somebody typed",
      words: overwritten,
      mine: "as typed",
      theirs: "as changed elsewhere",
      all: ["Keep what was typed", "Take the other change"],
    },
  };

  function draw(told, revision) {
    if (!told) {
      if (home.hidden) return;
      home.hidden = true;
      home.replaceChildren();
      shown = null;
      return;
    }
    const key = `${told.number} ${revision}`;
    if (shown === key) return;
    shown = key;
    const { title, words, mine, theirs, all: [takeMine, takeTheirs] } = reasons[told.why];
    const sides = told.hunks.map((hunk, index) => {
      const side = (name, text, line, value) =>
        make(
          "label",
          {},
          make("input", { type: "radio", name: `side-${index}`, value, checked: value === "mine" }),
          ` ${name}, line ${line}`,
          text ? make("pre", {}, text) : make("span", { class: "none" }, " (no such line)"),
        );
      return make(
        "div",
        { class: "sides", role: "radiogroup", "aria-label": `Difference ${index + 1} of ${told.hunks.length}` },
        side(mine, hunk.mine, hunk.mine_line, "mine"),
        side(theirs, hunk.theirs, hunk.theirs_line, "theirs"),
      );
    });
    const picks = () => told.hunks.map((_, index) => home.querySelector(`input[name="side-${index}"]:checked`).value === "mine");
    const all = (which) => told.hunks.map(() => which);
    const settle = (taken) => () => desk.settle(told.number, revision, taken());
    const button = (label, taken) => make("button", { type: "button", onclick: settle(taken) }, label);
    home.replaceChildren(
      make(
        "section",
        { class: "choice", role: "dialog", "aria-labelledby": "choice-title" },
        make("h2", { id: "choice-title", tabindex: "-1" }, title),
        make("p", {}, words),
        ...sides,
        make(
          "div",
          { class: "buttons" },
          button("Take as chosen", picks),
          button(takeMine, () => all(true)),
          button(takeTheirs, () => all(false)),
        ),
      ),
    );
    home.hidden = false;
    $("choice-title").focus();
  }

  return { draw };
})();
