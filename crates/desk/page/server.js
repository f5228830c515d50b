// Calls to the program: the secret goes in a header, and nowhere else.

const server = (() => {
  const given = location.hash.slice(1);
  const secret = given || (history.state && history.state.secret) || "";
  // Out of the address bar; the page may still be loaded anew.
  history.replaceState({ secret }, "", location.pathname);
  // The address of another run at the same port, put in over this page.
  addEventListener("hashchange", () => location.reload());

  /** Thrown where the program does not answer any more. */
  class Lost extends Error {}
  /** Thrown where it does not know the secret. */
  class Stranger extends Error {}

  /** Calls the program and gives its answer. */
  async function call(name, body, options = {}) {
    let response;
    try {
      response = await fetch(`/${name}`, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-Wetrun-Secret": secret },
        body: JSON.stringify(body),
        cache: "no-store",
        credentials: "omit",
        ...options,
      });
    } catch (error) {
      if (error.name === "AbortError") throw error;
      throw new Lost();
    }
    if (response.status === 403) throw new Stranger();
    if (!response.ok) throw new Lost();
    try {
      return await response.json();
    } catch (error) {
      if (error.name === "AbortError") throw error;
      throw new Lost();
    }
  }

  return { call, Lost, Stranger, known: secret !== "" };
})();
