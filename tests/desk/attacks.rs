//! Other pages in the same browser, with all that they could know, get nowhere.

use super::running::{Desk, Site, edit, open, text};
use crate::browser::browser_with;
use std::io::{Read, Write};
use std::net::TcpListener;

const RING: &str = "fixtures/ok/si-two-tanks-ring/site.yaml";

/// Serves an empty page to whoever asks, under whatever name.
fn elsewhere() -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    std::thread::spawn(move || {
        for stream in listener.incoming() {
            let Ok(mut stream) = stream else { continue };
            // A browser opens connections beforehand on which it then asks for nothing.
            std::thread::spawn(move || {
                let mut asked = [0; 4096];
                let _ = stream.read(&mut asked);
                let page = "<!doctype html><link rel=icon href='data:,'><title>elsewhere</title>";
                let _ = write!(
                    stream,
                    "HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{page}",
                    page.len()
                );
            });
        }
    });
    port
}

/// Everything that a page elsewhere can try with the address and the secret of a desk; gives what
/// got through.
const TRY: &str = r##"
(async (desk, secret) => {
  const through = [];
  const call = (name, options) => fetch(desk + name, { method: "POST", body: '{"view":{}}', ...options });
  const known = { "Content-Type": "application/json", "X-Wetrun-Secret": secret };
  const tries = {
    "read the page": () => fetch(desk).then((r) => r.text()),
    // What comes back is hidden from the page either way: that nothing does is seen by the statuses.
    "get without cors": () => fetch(desk, { mode: "no-cors" }).then((r) => r.type !== "opaque"),
    "call with the secret": () => call("open", { headers: known }).then((r) => r.text()),
    "save with the secret": () => call("save", { headers: known }).then((r) => r.ok),
    "plain call": () => call("open", {}).then((r) => r.text()),
    "websocket": () => new Promise((done, no) => {
      const socket = new WebSocket(desk.replace("http", "ws"));
      socket.onopen = () => done("open");
      socket.onerror = no;
    }),
    "script": () => new Promise((done, no) => {
      const script = document.createElement("script");
      script.src = desk;
      script.onload = () => done("ran");
      script.onerror = no;
      document.head.append(script);
    }),
    // What a frame shows is hidden likewise.
    "frame": () => new Promise((done) => {
      const frame = document.createElement("iframe");
      frame.src = desk + "#" + secret;
      frame.onload = frame.onerror = () => done(false);
      document.body.append(frame);
      setTimeout(() => done(false), 3000);
    }),
  };
  for (const [name, attempt] of Object.entries(tries)) {
    try { if (await attempt()) through.push(name); } catch {}
  }
  // What changes something without being read: the desk has to refuse it by itself.
  for (const type of ["text/plain", "application/x-www-form-urlencoded"]) {
    try { await call("undo", { mode: "no-cors", headers: { "Content-Type": type } }); } catch {}
  }
  const form = document.createElement("form");
  form.method = "post"; form.action = desk + "save"; form.enctype = "text/plain"; form.target = "sink";
  const sink = document.createElement("iframe"); sink.name = "sink";
  document.body.append(sink, form);
  form.submit();
  await new Promise((done) => setTimeout(done, 200));
  return through;
})
"##;

#[test]
fn a_page_elsewhere_gets_nowhere() {
    // A name of the outside world that is made to lead here.
    let rebound = ["--host-resolver-rules=MAP evil.example 127.0.0.1"];
    let Some(mut browser) = browser_with(&rebound) else { return };
    let site = Site::of(RING);
    let desk = Desk::start(&site.path);
    let port = desk.bare().trim_end_matches('/').rsplit(':').next().unwrap().to_owned();
    let away = elsewhere();
    // Something to undo and to save, so that it would be seen.
    open(&mut browser, &desk, 1280);
    edit(&mut browser, "150 mm/h", "140 mm/h");
    browser.until("document.querySelector('#saved').textContent === 'not saved'");
    let edited = text(&mut browser);
    let all = format!("({TRY})('{}', '{}')", desk.bare(), desk.secret());
    for host in
        [format!("evil.example:{away}"), format!("127.0.0.1:{away}"), format!("localhost:{away}")]
    {
        browser.visit(&format!("http://{host}/"), 1280);
        let through = browser.evaluate(&all);
        assert_eq!(through, serde_json::json!([]), "from {host}");
        let mut told = browser.responses();
        told.retain(|(url, _)| url.starts_with(desk.bare()));
        assert!(told.len() >= 4, "from {host} the desk was asked {told:?} alone");
        assert!(told.iter().all(|(_, status)| *status == 403), "from {host}: {told:?}");
    }
    // The rebound name at the desk's own port: same origin for the browser, not for the desk.
    browser.visit(&format!("http://evil.example:{port}/#{}", desk.secret()), 1280);
    assert_eq!(browser.evaluate("document.querySelector('#word')"), serde_json::Value::Null);
    let call = format!(
        "fetch('/open', {{ method: 'POST', body: '{{\"view\":{{}}}}', headers: {{ \
         'Content-Type': 'application/json', 'X-Wetrun-Secret': '{}' }} }}).then(r => r.status)",
        desk.secret()
    );
    assert_eq!(browser.evaluate(&call), 403);
    // Nothing was undone and nothing saved.
    assert_eq!(site.on_disk(), site.text);
    open(&mut browser, &desk, 1280);
    assert_eq!(text(&mut browser), edited);
    // The same tries are worth something: from the desk's own page they get through.
    let through = browser.evaluate(&all);
    for name in ["read the page", "call with the secret", "save with the secret"] {
        assert!(through.as_array().unwrap().iter().any(|one| one == name), "{name}: {through}");
    }
    assert_eq!(site.on_disk(), edited);
    assert_eq!(desk.kill(), "");
}
