// A new site: a dozen questions, each with what is usual, make the first draft of its file.

const begin = (() => {
  const home = $("begin");
  let shown = false;
  const answers = {};

  /** Shows the questions while there is no text yet. */
  function draw(empty) {
    if (empty === shown) return;
    shown = empty;
    home.hidden = !empty;
    if (empty) ask();
    else home.replaceChildren();
  }

  async function ask() {
    const told = await desk.plainly("questions", { answers });
    if (!told) return;
    const focused = document.activeElement && home.contains(document.activeElement) && document.activeElement.closest("[data-at]");
    const at = focused && focused.dataset.at;
    const fields = told.questions.map((one) => {
      const shape = { key: one.key, at: `begin ${one.key}`, meaning: one.more.length > one.asks.length ? one.more : one.asks, written: answers[one.key] ?? one.usual };
      if (one.key === "units") shape.choices = ["us", "si"];
      if (one.key === "pipes") shape.choices = Object.keys(desk.catalogue().pipes);
      return field.line(shape, (value) => {
        if (value === "") delete answers[one.key];
        else answers[one.key] = value;
        // What is usual hangs on the units and on other answers.
        ask();
      });
    });
    home.replaceChildren(
      make("h2", {}, "A new site"),
      make("p", { class: "where" }, "What stands there is usual: change what is not so here. Nothing is written before Save."),
      ...fields,
      make("p", { class: "fault", role: "alert", id: "begin-fault" }),
      make("div", { class: "buttons" }, make("button", { type: "button", class: "first", "data-do": "begin", onclick: go }, "Make the first draft")),
    );
    const again = at && [...home.querySelectorAll("[data-at]")].find((element) => element.dataset.at === at);
    if (again) again.control.focus({ preventScroll: true });
  }

  async function go() {
    desk.forget();
    const answer = await desk.ask("begin", { answers });
    if (answer && answer.refused) say($("begin-fault"), answer.refused);
  }

  return { draw };
})();
