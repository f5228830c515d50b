// Building blocks of the page: elements made of text, never of markup.

const $ = (id) => document.getElementById(id);

/** An element with attributes and children; a text becomes text, whatever it says. */
function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else element.setAttribute(key, value === true ? "" : String(value));
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** Words in which what stands between backticks is of the file. */
function prose(text) {
  return text.split(/(`[^`]*`)/).map((part) => (part.length > 2 && part.startsWith("`") ? make("code", {}, part.slice(1, -1)) : part));
}

/** Sets a text where it is another, so that nothing is announced or laid out twice. */
function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** Drawings come as SVG from this program's own writer, and are parsed as such: no script in them runs. */
const drawings = (() => {
  const parser = new DOMParser();
  const parse = (text) => parser.parseFromString(text, "image/svg+xml").documentElement;
  if (!window.trustedTypes) return parse;
  const policy = trustedTypes.createPolicy("wetrun-desk", { createHTML: (text) => text });
  return (text) => parse(policy.createHTML(text));
})();

/** A drawing as an element of this document. */
function drawn(text) {
  const svg = document.adoptNode(drawings(text));
  for (const script of svg.querySelectorAll("script,foreignObject,a")) script.remove();
  return svg;
}

/** Makes an element what another is, touching what differs alone, and gives what stands there then. */
function becomes(old, fresh) {
  if (old.nodeType !== fresh.nodeType || old.nodeName !== fresh.nodeName || old.childNodes.length !== fresh.childNodes.length) {
    old.replaceWith(fresh);
    return fresh;
  }
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.data !== fresh.data) old.data = fresh.data;
    return old;
  }
  for (const { name } of [...old.attributes]) if (!fresh.hasAttribute(name)) old.removeAttribute(name);
  for (const { name, value } of fresh.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  const inside = [...fresh.childNodes];
  [...old.childNodes].forEach((child, index) => becomes(child, inside[index]));
  return old;
}

/** A drawing that is told by lines, each a shape, as the first thing in a place: shapes that change do so where they stand. */
function canvas(home) {
  const leaf = (line) => line.startsWith("<path") || line.startsWith("<text");
  let svg = null;
  let shown = null;
  /** The shape of each line; nothing for a line that holds others. */
  let shapes = [];

  /** Takes over the lines that are others; says whether that was enough. */
  function touched(lines) {
    const { old, runs } = lines;
    if (!svg || !shown || old !== shown) return false;
    const fresh = runs.flatMap(([, , fresh]) => fresh);
    // Where most is another a whole one is no more work.
    if (fresh.length * 2 > lines.length) return false;
    const plain = ([at, gone]) => shapes.slice(at, at + gone).every(Boolean) && (gone || shapes[at - 1] || shapes[at]);
    if (!fresh.every(leaf) || !runs.every(plain)) return false;
    const parsed = [...drawn(`<svg xmlns="http://www.w3.org/2000/svg">${fresh.join("")}</svg>`).children];
    // From the end on, so that what comes before keeps its number.
    for (const [at, gone, here] of [...runs].reverse()) {
      const made = parsed.splice(parsed.length - here.length);
      const before = shapes.slice(at, at + gone);
      const kept = Math.min(before.length, made.length);
      const now = made.slice(0, kept).map((one, index) => becomes(before[index], one));
      before.slice(kept).forEach((one) => one.remove());
      const more = made.slice(kept);
      const [last, next] = [now[kept - 1] || shapes[at - 1], shapes[at + gone]];
      if (more.length && last) last.after(...more);
      else if (more.length) next.before(...more);
      shapes.splice(at, gone, ...now, ...more);
    }
    return true;
  }

  /** Draws lines, unless they are drawn already. */
  return (lines) => {
    if (lines === shown) return;
    if (!touched(lines)) {
      const fresh = drawn(lines.join("\n"));
      if (svg) svg = becomes(svg, fresh);
      else home.prepend((svg = fresh));
      const all = [...svg.querySelectorAll("path,text")].values();
      shapes = lines.map((line) => (leaf(line) ? all.next().value : null));
    }
    shown = lines;
    // What it was made of is of no use any more.
    delete lines.old;
    delete lines.runs;
  };
}
