// The plan: a click or Enter selects what stands there.

const plan = (() => {
  const figure = $("plan-figure");
  const pager = $("plan-pager");
  let sheets = [];
  let at = 0;
  let targets = [];

  function draw(next) {
    sheets = next || [];
    at = Math.min(at, Math.max(sheets.length - 1, 0));
    pager.hidden = sheets.length < 2;
    if (sheets.length > 1) {
      const turn = (by) => () => {
        at = (at + by + sheets.length) % sheets.length;
        show();
      };
      pager.replaceChildren(
        make("button", { type: "button", onclick: turn(-1) }, "Back"),
        make("span", { id: "plan-at", role: "status" }),
        make("button", { type: "button", onclick: turn(1) }, "On"),
      );
    }
    show();
  }

  function show() {
    const sheet = sheets[at];
    if (!sheet) {
      figure.replaceChildren();
      return;
    }
    if (sheets.length > 1) say($("plan-at"), `sheet ${at + 1} of ${sheets.length}`);
    const focused = document.activeElement && document.activeElement.dataset.tag;
    const within = figure.contains(document.activeElement);
    const space = "http://www.w3.org/2000/svg";
    const ways = document.createElementNS(space, "svg");
    ways.setAttribute("class", "ways");
    ways.setAttribute("viewBox", `0 0 ${sheet.width} ${sheet.height}`);
    const lines = sheet.ways.map((way) => {
      const path = document.createElementNS(space, "path");
      path.setAttribute("d", way.way.map(([x, y], i) => `${i ? "L" : "M"}${x} ${y}`).join(""));
      path.setAttribute("role", "button");
      ways.append(path);
      return target(path, way.tag, `line ${way.tag}`);
    });
    const layer = make("div", { class: "layer", role: "group", "aria-label": "Pieces on the plan; arrow keys go from one to the next" }, ways);
    const kinds = { downspouts: "downspout", points: "point", tanks: "tank" };
    const spots = sheet.places.map((place) => {
      const spot = make("button", { type: "button", class: "spot" });
      spot.style.left = `${(place.at[0] / sheet.width) * 100}%`;
      spot.style.top = `${(place.at[1] / sheet.height) * 100}%`;
      layer.append(spot);
      return target(spot, place.tag, `${kinds[place.sort]} ${place.tag}`);
    });
    targets = spots.concat(lines);
    figure.replaceChildren(make("div", { class: "panel" }, drawn(sheet.svg), layer));
    mark();
    if (within && focused) {
      const again = targets.find((element) => element.dataset.tag === focused);
      if (again) again.focus({ preventScroll: true });
    }
  }

  function target(element, tag, label) {
    element.dataset.tag = tag;
    element.setAttribute("aria-label", label);
    element.addEventListener("click", () => desk.select(tag));
    element.addEventListener("keydown", (event) => {
      if (event.key === "Enter" || event.key === " ") {
        event.preventDefault();
        desk.select(tag);
        return;
      }
      const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (!by) return;
      event.preventDefault();
      const next = targets[(targets.indexOf(element) + by + targets.length) % targets.length];
      targets.forEach((other) => other.setAttribute("tabindex", other === next ? "0" : "-1"));
      next.focus();
    });
    return element;
  }

  /** Marks what is selected: it is also where the keyboard comes in. */
  function mark() {
    const chosen = desk.selected();
    const entry = targets.find((element) => element.dataset.tag === chosen) || targets[0];
    for (const element of targets) {
      element.setAttribute("aria-pressed", element.dataset.tag === chosen);
      element.setAttribute("tabindex", element === entry ? "0" : "-1");
    }
  }

  return { draw, mark };
})();
