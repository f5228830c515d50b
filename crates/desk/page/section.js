// The long section in view, with a handle at every level that a hand can move.

const section = (() => {
  const figure = $("section-figure");
  let shown = null;
  /** Handles by tag and key: they stay the same elements while the picture changes below them. */
  const handles = new Map();
  let layers = [];
  let canvases = [];
  let held = null;

  const name = (handle) => `${handle.tag} ${handle.key}`;

  /** Draws a section, or nothing where the route reaches no tank. */
  function draw(next) {
    if (!next) {
      shown = null;
      handles.clear();
      layers = [];
      figure.replaceChildren(make("p", { class: "where" }, "No route to a tank to draw."));
      return;
    }
    if (layers.length !== next.panels.length) {
      layers = next.panels.map(() => make("div", { class: "layer" }));
      const panels = layers.map((layer) => make("div", { class: "panel" }, layer));
      canvases = panels.map((panel) => canvas(panel));
      figure.replaceChildren(...panels);
      handles.clear();
    }
    next.panels.forEach((lines, index) => canvases[index](lines));
    const scaled = !shown || shown.width !== next.width || shown.height !== next.height;
    shown = next;
    place(scaled);
  }

  function place(scaled = false) {
    const gone = new Set(handles.keys());
    // The keyboard goes along the route.
    const along = [...shown.handles].sort((a, b) => a.panel - b.panel || a.x - b.x || a.y - b.y);
    for (const handle of along) {
      const key = name(handle);
      gone.delete(key);
      let element = handles.get(key);
      if (!element || element.parentElement !== layers[handle.panel]) {
        if (element) element.remove();
        element = made(handle);
        handles.set(key, element);
        layers[handle.panel].append(element);
      }
      const free = !held || held.element !== element || !held.pointer;
      // A hand leaves it where no level is.
      const other = scaled || element.handle !== handle;
      if (free && (element.loose || other)) {
        element.style.top = `${(handle.y / shown.height) * 100}%`;
        element.loose = false;
      }
      if (!other) continue;
      element.handle = handle;
      element.style.left = `${(handle.x / shown.width) * 100}%`;
      element.classList.toggle("right", handle.x > shown.width / 2);
      element.setAttribute("aria-valuenow", handle.now);
      element.setAttribute("aria-valuetext", handle.written || handle.text);
      // A slider has ends; where the file sets none they lie well beyond.
      element.setAttribute("aria-valuemin", handle.low ?? Math.round((handle.now - 10) * 100) / 100);
      element.setAttribute("aria-valuemax", handle.high ?? Math.round((handle.now + 10) * 100) / 100);
      say(element.lastElementChild, `${key}  ${handle.written || handle.text}`);
    }
    for (const key of gone) {
      if (held && held.element === handles.get(key)) held = null;
      handles.get(key).remove();
      handles.delete(key);
    }
  }

  function made(handle) {
    const element = make(
      "div",
      {
        class: "handle",
        role: "slider",
        tabindex: "0",
        "aria-orientation": "vertical",
        "aria-label": `${handle.tag} ${handle.key.replaceAll("_", " ")}`,
        onpointerdown: touch,
        onpointermove: drag,
        onpointerup: drop,
        onpointercancel: giveUp,
        onkeydown: press,
        onkeyup: release,
        onblur: release,
      },
      make("span", { class: "knob" }),
      make("span", { class: "value", "aria-hidden": "true" }),
    );
    return element;
  }

  /** Of handles that overlap the nearest is meant. */
  function nearest(event) {
    let best = null;
    for (const element of handles.values()) {
      const box = element.getBoundingClientRect();
      const away = Math.hypot(
        event.clientX - (box.left + box.right) / 2,
        event.clientY - (box.top + box.bottom) / 2,
      );
      if (away <= 26 && (!best || away < best.away)) best = { element, away };
    }
    return best && best.element;
  }

  function touch(event) {
    if (held || event.button > 0 || !desk.editable()) return;
    const element = nearest(event);
    if (!element) return;
    event.preventDefault();
    element.setPointerCapture(event.pointerId);
    element.focus({ preventScroll: true });
    const handle = element.handle;
    // Asked for once: with every move it would lay out the page.
    const height = layers[handle.panel].clientHeight;
    held = {
      element,
      pointer: event.pointerId,
      gesture: desk.gesture(),
      y: event.clientY,
      height,
      top: (handle.y / shown.height) * height,
      level_m: handle.level_m,
      moved: false,
    };
    element.classList.add("held");
    desk.select(desk.named(handle.tag) || [], { quiet: true });
  }

  function drag(event) {
    if (!held || held.pointer !== event.pointerId || event.currentTarget !== held.element) return;
    const down = (event.clientY - held.y) * (event.shiftKey ? 0.1 : 1);
    held.y = event.clientY;
    if (down === 0) return;
    const { handle } = held.element;
    held.top += down;
    held.level_m -= (down * shown.height) / held.height / shown.pt_per_m;
    held.moved = true;
    // The handle moves at once; the picture follows.
    held.element.loose = true;
    held.element.style.top = `${(held.top / held.height) * 100}%`;
    desk.move(held.gesture, handle, { to_m: held.level_m });
  }

  function drop(event) {
    if (!held || held.pointer !== event.pointerId) return;
    const { element, gesture, moved } = held;
    held = null;
    element.classList.remove("held");
    if (moved) desk.letGo(gesture);
  }

  function giveUp(event) {
    if (!held || (event && event.pointerId !== held.pointer)) return;
    const { element, gesture, moved } = held;
    held = null;
    element.classList.remove("held");
    if (moved) desk.giveUp(gesture);
    else place();
  }

  function press(event) {
    const element = event.currentTarget;
    if (event.key === "Escape") {
      if (held && held.pointer) return giveUp({ pointerId: held.pointer });
      if (held && held.element === element) {
        const { gesture } = held;
        held = null;
        desk.giveUp(gesture);
      }
      return;
    }
    const steps = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[event.key];
    if (!steps || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    if (!desk.editable() || (held && held.pointer)) return;
    if (held && (held.element !== element || held.fine !== event.shiftKey)) release();
    if (!held) {
      held = { element, pointer: null, gesture: desk.gesture(), fine: event.shiftKey, steps: 0 };
      desk.select(desk.named(element.handle.tag) || [], { quiet: true });
    }
    held.steps += steps;
    desk.move(held.gesture, element.handle, held.fine ? { fine_steps: held.steps } : { steps: held.steps });
  }

  function release(event) {
    if (!held || held.pointer) return;
    if (event && event.type === "keyup" && event.key === "Shift") return;
    const { gesture } = held;
    held = null;
    desk.letGo(gesture);
  }

  /** Whether a hand holds a level. */
  const busy = () => held !== null;

  /** The hand lets go, as where the page is left. */
  function leave() {
    if (held && held.pointer) drop({ pointerId: held.pointer });
    else release();
  }

  return { draw, busy, leave };
})();
