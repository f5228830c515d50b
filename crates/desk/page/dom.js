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

/** Makes an element what another is, touching what differs alone: the rest is not drawn anew. */
function becomes(old, fresh) {
  if (old.nodeType !== fresh.nodeType || old.nodeName !== fresh.nodeName || old.childNodes.length !== fresh.childNodes.length) {
    old.replaceWith(fresh);
    return;
  }
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.data !== fresh.data) old.data = fresh.data;
    return;
  }
  for (const { name } of [...old.attributes]) if (!fresh.hasAttribute(name)) old.removeAttribute(name);
  for (const { name, value } of fresh.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  const inside = [...fresh.childNodes];
  [...old.childNodes].forEach((child, index) => becomes(child, inside[index]));
}
