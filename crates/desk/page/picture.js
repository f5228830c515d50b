// Pictures as the program tells them: whole, or by what makes them of one that is here already.

const pictures = (() => {
  /** Those that came last, by number. */
  const known = new Map();
  const most = 4;

  /** What a change makes of something; what it leaves alone stays the very same object. */
  function changed(old, change) {
    if ("put" in change) return change.put;
    if ("lines" in change) return spliced(old, change.lines);
    const next = Array.isArray(old) ? [...old] : { ...old };
    for (const [key, inner] of change.in) next[key] = changed(old[key], inner);
    return next;
  }

  /** A list of lines with runs of others in it; it tells of which list it was made, and how. */
  function spliced(old, runs) {
    let next = [];
    let at = 0;
    for (const [start, gone, fresh] of runs) {
      next = next.concat(old.slice(at, start), fresh);
      at = start + gone;
    }
    return Object.assign(next.concat(old.slice(at)), { old, runs });
  }

  /** Fills in the picture of an answer; says whether what it rests on is here. */
  function fill(answer) {
    if (answer.picture === undefined) return true;
    const { since } = answer;
    const before = since && known.get(since.picture);
    if (since && !before) {
      known.clear();
      return false;
    }
    const picture = !since ? { section: answer.section, tables: answer.tables } : since.change ? changed(before, since.change) : before;
    Object.assign(answer, picture);
    known.set(answer.picture, picture);
    if (known.size > most) known.delete(known.keys().next().value);
    return true;
  }

  /** The number of the one that came last. */
  const latest = () => [...known.keys()].pop() ?? null;

  return { fill, latest };
})();
