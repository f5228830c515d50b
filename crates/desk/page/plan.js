// The plan: a click or Enter selects what stands there; what has a place of its own can be moved.

const plan = (() => {
  const figure = $("plan-figure");
  const pager = $("plan-pager");
  const space = "http://www.w3.org/2000/svg";
  let sheets = [];
  let at = 0;
  let targets = [];
  let held = null;
  /** A plan that came while something on this one was held. */
  let waiting = null;

  function draw(next) {
    if (held) {
      waiting = next;
      return;
    }
    waiting = null;
    sheets = next || [];
    at = Math.min(at, Math.max(sheets.length - 1, 0));
    pager.hidden = sheets.length < 2;
    if (sheets.length > 1 && !pager.firstElementChild) {
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
    const focused = figure.contains(document.activeElement) && document.activeElement.dataset.tag;
    const ways = document.createElementNS(space, "svg");
    ways.setAttribute("class", "ways");
    ways.setAttribute("viewBox", `0 0 ${sheet.width} ${sheet.height}`);
    const lines = sheet.ways.map((way) => {
      const path = document.createElementNS(space, "path");
      path.setAttribute("d", way.way.map(([x, y], i) => `${i ? "L" : "M"}${x} ${y}`).join(""));
      path.setAttribute("role", "button");
      ways.append(path);
      return target(path, way, `line ${way.tag}`);
    });
    const moved = sheet.pt_per_m !== null;
    const words = "Pieces on the plan; arrow keys go from one to the next" + (moved ? ", with Shift they move it" : "");
    const layer = make("div", { class: "layer", role: "group", "aria-label": words }, ways);
    const kinds = { downspouts: "downspout", points: "point", tanks: "tank" };
    const spots = sheet.places.map((place) => {
      const spot = make("button", { type: "button", class: moved ? "spot moved" : "spot" });
      put(spot, place.at, sheet);
      layer.append(spot);
      if (moved) movable(spot, place, sheet);
      return target(spot, place, `${kinds[place.sort]} ${place.tag}`);
    });
    targets = spots.concat(lines);
    figure.replaceChildren(make("div", { class: "panel" }, drawn(sheet.svg), layer));
    $("plan-note").hidden = !moved;
    mark();
    if (focused) {
      const again = targets.find((element) => element.dataset.tag === focused);
      if (again) again.focus({ preventScroll: true });
    }
  }

  function put(spot, [x, y], sheet) {
    spot.style.left = `${(x / sheet.width) * 100}%`;
    spot.style.top = `${(y / sheet.height) * 100}%`;
  }

  function target(element, one, label) {
    element.dataset.tag = one.tag;
    element.setAttribute("aria-label", label);
    element.addEventListener("click", () => desk.select([one.sort, one.tag]));
    element.addEventListener("keydown", (event) => {
      if (event.key === "Enter" || event.key === " ") {
        event.preventDefault();
        desk.select([one.sort, one.tag]);
        return;
      }
      const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (!by || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
      event.preventDefault();
      const next = targets[(targets.indexOf(element) + by + targets.length) % targets.length];
      targets.forEach((other) => other.setAttribute("tabindex", other === next ? "0" : "-1"));
      next.focus();
    });
    return element;
  }

  /** What has a place of its own goes where it is dragged, or in steps by the arrow keys. */
  function movable(spot, place, sheet) {
    const slack = 4;
    spot.addEventListener("pointerdown", (event) => {
      if (held || event.button > 0 || !desk.editable()) return;
      spot.setPointerCapture(event.pointerId);
      held = { spot, pointer: event.pointerId, from: [event.clientX, event.clientY], by: [0, 0], going: false };
    });
    spot.addEventListener("pointermove", (event) => {
      if (!held || held.spot !== spot || held.pointer !== event.pointerId) return;
      const [dx, dy] = [event.clientX - held.from[0], event.clientY - held.from[1]];
      if (!held.going && Math.hypot(dx, dy) < slack) return;
      held.going = true;
      spot.classList.add("held");
      const scale = sheet.width / figure.querySelector(".layer").clientWidth;
      held.by = [dx * scale, dy * scale];
      const [x, y] = [place.at[0] + held.by[0], place.at[1] + held.by[1]];
      put(spot, [x, y], sheet);
      follow(place, [x, y], sheet);
    });
    const drop = (keep) => (event) => {
      if (!held || held.spot !== spot || held.pointer !== event.pointerId) return;
      const { going, by } = held;
      held = null;
      spot.classList.remove("held");
      if (waiting && !(going && keep)) return draw(waiting);
      if (!going) return;
      // The click that comes with it is none.
      const swallow = (click) => click.stopImmediatePropagation();
      spot.addEventListener("click", swallow, { capture: true });
      setTimeout(() => spot.removeEventListener("click", swallow, { capture: true }), 0);
      if (keep) desk.place(place.tag, { m: [by[0] / sheet.pt_per_m, -by[1] / sheet.pt_per_m] });
      else show();
    };
    spot.addEventListener("pointerup", drop(true));
    spot.addEventListener("pointercancel", drop(false));
    spot.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && held && held.spot === spot) {
        drop(false)({ pointerId: held.pointer });
        return;
      }
      const by = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
      if (!by || !event.shiftKey || event.ctrlKey || event.altKey || event.metaKey || !desk.editable()) return;
      event.preventDefault();
      desk.place(place.tag, { steps: by });
    });
  }

  /** The lines that end at a place follow it while it moves. */
  function follow(place, [x, y], sheet) {
    sheet.ways.forEach((way, index) => {
      const near = (point) => Math.hypot(point[0] - place.at[0], point[1] - place.at[1]) < 0.5;
      const last = way.way.length - 1;
      if (!near(way.way[0]) && !near(way.way[last])) return;
      const path = targets[sheet.places.length + index];
      path.classList.add("pulled");
      path.setAttribute("d", way.way.map((point, i) => ((i === 0 || i === last) && near(point) ? [x, y] : point)).map(([a, b], i) => `${i ? "L" : "M"}${a} ${b}`).join(""));
    });
  }

  /** Marks what is selected: it is also where the keyboard comes in. */
  function mark() {
    const chosen = desk.chosenTag();
    const entry = targets.find((element) => element.dataset.tag === chosen) || targets[0];
    for (const element of targets) {
      element.setAttribute("aria-pressed", element.dataset.tag === chosen);
      element.setAttribute("tabindex", element === entry ? "0" : "-1");
    }
  }

  return { draw, mark };
})();
