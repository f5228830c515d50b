//! A browser without a window, driven by the DevTools protocol over two pipes.
//!
//! Messages are JSON objects, each ended by a zero byte. The browser reads them from its file
//! descriptor 3 and writes to 4; a shell puts the pipes of its standard streams there.

use base64::prelude::{BASE64_STANDARD, Engine};
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// Slower than this is taken for a browser that hangs.
const PATIENCE: Duration = Duration::from_secs(90);

/// No window, no profile of anybody, and nothing asked of the outside by the browser itself.
const FLAGS: [&str; 10] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--remote-debugging-pipe",
];

/// A running browser with one page open.
pub(crate) struct Browser {
    child: Child,
    stdin: ChildStdin,
    messages: Receiver<Value>,
    session: String,
    /// What the page shares with no other: cookies, storage, everything that a person would leave.
    context: String,
    last_id: u64,
    /// What the page did since it was last opened, in order.
    events: Vec<Value>,
    profile: PathBuf,
}

/// A key of the keyboard, with its name and number as a browser tells them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Key(pub(crate) &'static str, pub(crate) u32);

/// Keys held down with another, as the protocol numbers them.
pub(crate) const SHIFT: u32 = 8;
pub(crate) const CONTROL: u32 = 2;

impl Browser {
    /// Starts it, with more flags than its own.
    pub(crate) fn start_with(program: &Path, flags: &[&str]) -> Self {
        let profile = tempfile::tempdir().unwrap().keep();
        // It ends when its pipe closes, however the tests end; then its profile goes.
        let run = "\"$@\" 3<&0 4>&1 </dev/null >/dev/null; rm -rf \"$0\"";
        let mut child = Command::new("sh")
            .args(["-c", run])
            .arg(&profile)
            .arg(program)
            .args(FLAGS)
            .args(flags)
            .arg(format!("--user-data-dir={}", profile.display()))
            .arg("about:blank")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let stdin = child.stdin.take().unwrap();
        let mut stdout = BufReader::new(child.stdout.take().unwrap());
        let (sender, messages) = channel();
        // Ends when the browser does: then its end of the pipe closes.
        std::thread::spawn(move || {
            let mut message = Vec::new();
            while stdout.read_until(0, &mut message).is_ok_and(|length| length > 0) {
                message.pop();
                let read = serde_json::from_slice(&message);
                if read.map(|value| sender.send(value)).is_err() {
                    break;
                }
                message.clear();
            }
        });
        let (session, context, events) = (String::new(), String::new(), Vec::new());
        let last_id = 0;
        let mut browser =
            Self { child, stdin, messages, session, context, last_id, events, profile };
        browser.begin();
        browser
    }

    /// An empty page that knows of no other.
    fn begin(&mut self) {
        let context = self.ask("Target.createBrowserContext", json!({}));
        context["browserContextId"].as_str().unwrap().clone_into(&mut self.context);
        let blank = json!({ "url": "about:blank", "browserContextId": self.context });
        let target = self.ask("Target.createTarget", blank);
        let attach = json!({ "targetId": target["targetId"], "flatten": true });
        let attached = self.ask("Target.attachToTarget", attach);
        attached["sessionId"].as_str().unwrap().clone_into(&mut self.session);
        for domain in ["Page", "Runtime", "Log", "Network"] {
            self.ask(&format!("{domain}.enable"), json!({}));
        }
    }

    /// Closes the page and all that it left, and opens another; whether the browser did so soon.
    pub(crate) fn forget(&mut self) -> bool {
        self.session.clear();
        let context = json!({ "browserContextId": self.context });
        let id = self.send("Target.disposeBrowserContext", context);
        loop {
            match self.messages.recv_timeout(Duration::from_secs(5)) {
                Ok(message) if message["id"] == id => break,
                Ok(_) => {}
                Err(_) => return false,
            }
        }
        self.events.clear();
        self.begin();
        true
    }

    /// Opens a file at a window of this width; a narrow one counts as a phone.
    pub(crate) fn open(&mut self, file: &Path, width_px: u32) {
        // The folders of tests hold nothing that an address would have to escape but spaces, and
        // those the browser escapes itself.
        self.visit(&format!("file://{}", file.display()), width_px);
    }

    /// Opens an address likewise.
    pub(crate) fn visit(&mut self, url: &str, width_px: u32) {
        self.window(width_px, 800, 1.0);
        self.events.clear();
        let answer = self.ask("Page.navigate", json!({ "url": url }));
        assert!(answer["errorText"].is_null(), "{url}: {answer}");
        // Another fragment of the same page loads nothing.
        let loads = !answer["loaderId"].is_null();
        while loads && !self.events.iter().any(|event| event["method"] == "Page.loadEventFired") {
            self.next_event();
        }
        // Fonts are read after the page; two frames later all is drawn.
        self.evaluate(
            "document.fonts.ready.then(() => new Promise(done => \
             requestAnimationFrame(() => requestAnimationFrame(() => done(true)))))",
        );
    }

    /// Gives the window a size in pixels of the page; of a screen that shows each `density` times.
    pub(crate) fn window(&mut self, width_px: u32, height_px: u32, density: f64) {
        let mobile = width_px < 600;
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            json!({
                "width": width_px, "height": height_px, "deviceScaleFactor": density,
                "mobile": mobile,
            }),
        );
        self.ask("Emulation.setTouchEmulationEnabled", json!({ "enabled": mobile }));
    }

    /// Dark or light, as a person sets it for the whole system.
    pub(crate) fn scheme(&mut self, scheme: &str) {
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        self.ask("Emulation.setEmulatedMedia", json!({ "features": features }));
    }

    /// Waits until an expression is true in the page.
    pub(crate) fn until(&mut self, expression: &str) {
        let began = std::time::Instant::now();
        // While another page comes there is none to ask.
        while self.evaluate(&format!("Boolean({expression})")) != true {
            assert!(began.elapsed() < PATIENCE, "never: {expression}\n{:?}", self.complaints());
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Moves the mouse, or presses or releases its button: `mousePressed`, `mouseMoved`.
    pub(crate) fn mouse(&mut self, what: &str, (x, y): (f64, f64)) {
        let buttons = u32::from(what != "mouseReleased");
        self.ask(
            "Input.dispatchMouseEvent",
            json!({
                "type": what, "x": x, "y": y, "button": "left", "buttons": buttons, "clickCount": 1,
            }),
        );
    }

    /// Presses with a finger, moves it, or lifts it: `touchStart`, `touchMove`, `touchEnd`.
    pub(crate) fn touch(&mut self, what: &str, at: Option<(f64, f64)>) {
        let points: Vec<Value> = at.map(|(x, y)| json!({ "x": x, "y": y })).into_iter().collect();
        self.ask("Input.dispatchTouchEvent", json!({ "type": what, "touchPoints": points }));
    }

    /// Presses a key and lets it go, with others held.
    pub(crate) fn press(&mut self, Key(name, number): Key, held: u32) {
        for what in ["keyDown", "keyUp"] {
            self.ask(
                "Input.dispatchKeyEvent",
                json!({
                    "type": what, "key": name, "code": name, "windowsVirtualKeyCode": number,
                    "modifiers": held,
                }),
            );
        }
    }

    /// Types a text where the focus is.
    pub(crate) fn type_in(&mut self, text: &str) {
        self.ask("Input.insertText", json!({ "text": text }));
    }

    /// What is told to a screen reader: role, name, and value of every node.
    pub(crate) fn accessible(&mut self) -> Vec<(String, String, String)> {
        let tree = self.ask("Accessibility.getFullAXTree", json!({}));
        let text = |node: &Value, key: &str| match &node[key]["value"] {
            Value::String(text) => text.clone(),
            Value::Null => String::new(),
            other => other.to_string(),
        };
        let nodes = tree["nodes"].as_array().unwrap().iter();
        nodes
            .filter(|node| node["ignored"] != true)
            .map(|node| (text(node, "role"), text(node, "name"), text(node, "value")))
            .collect()
    }

    /// What is seen, as a PNG.
    pub(crate) fn picture(&mut self) -> Vec<u8> {
        let answer = self.ask("Page.captureScreenshot", json!({}));
        BASE64_STANDARD.decode(answer["data"].as_str().unwrap()).unwrap()
    }

    /// The value of an expression in the page.
    pub(crate) fn evaluate(&mut self, expression: &str) -> Value {
        let ask = json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let began = std::time::Instant::now();
        loop {
            match self.answer_to("Runtime.evaluate", ask.clone()) {
                Ok(answer) => {
                    assert!(answer["exceptionDetails"].is_null(), "{expression}: {answer}");
                    return answer["result"]["value"].clone();
                }
                // The page that was asked went away meanwhile: the next one is asked.
                Err(error) => {
                    let away = ["navigated", "context", "destroyed", "collected"];
                    let words = error.to_string();
                    let gone = away.iter().any(|away| words.contains(away));
                    assert!(gone && began.elapsed() < PATIENCE, "{expression}: {words}");
                    std::thread::sleep(Duration::from_millis(20));
                }
            }
        }
    }

    /// The page as a PDF, on the paper that it asks for.
    pub(crate) fn print(&mut self) -> Vec<u8> {
        let ask = json!({ "preferCSSPageSize": true, "printBackground": true });
        let answer = self.ask("Page.printToPDF", ask);
        BASE64_STANDARD.decode(answer["data"].as_str().unwrap()).unwrap()
    }

    /// Addresses of everything the page asked for, itself among them.
    pub(crate) fn requests(&self) -> Vec<String> {
        self.of("Network.requestWillBeSent")
            .map(|params| params["request"]["url"].as_str().unwrap().to_owned())
            .collect()
    }

    /// What was answered to the page and to what it shows: addresses, each with its status.
    pub(crate) fn responses(&self) -> Vec<(String, u64)> {
        self.of("Network.responseReceived")
            .map(|params| {
                let response = &params["response"];
                let url = response["url"].as_str().unwrap().to_owned();
                (url, response["status"].as_u64().unwrap())
            })
            .collect()
    }

    /// What the page wrote to the console, and what the browser complained of.
    pub(crate) fn complaints(&self) -> Vec<String> {
        ["Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded"]
            .into_iter()
            .flat_map(|method| self.of(method).map(Value::to_string))
            .collect()
    }

    /// Does not listen any more to what the page asks for: telling it costs time that a person's browser
    /// does not spend.
    pub(crate) fn listen_no_more(&mut self) {
        self.ask("Network.disable", json!({}));
    }

    fn of<'a>(&'a self, method: &'a str) -> impl Iterator<Item = &'a Value> {
        self.events.iter().filter(move |e| e["method"] == method).map(|e| &e["params"])
    }

    fn ask(&mut self, method: &str, params: Value) -> Value {
        let answer = self.answer_to(method, params);
        answer.unwrap_or_else(|error| panic!("{method}: {error}"))
    }

    /// The result of a method, or the error that the browser tells instead.
    fn answer_to(&mut self, method: &str, params: Value) -> Result<Value, Value> {
        let id = self.send(method, params);
        loop {
            let message = self.receive(method);
            if message["id"] == id {
                return match &message["error"] {
                    Value::Null => Ok(message["result"].clone()),
                    error => Err(error.clone()),
                };
            }
            self.events.push(message);
        }
    }

    /// Sends a question, and gives the number that its answer will bear.
    fn send(&mut self, method: &str, params: Value) -> u64 {
        self.last_id += 1;
        let id = self.last_id;
        let mut message = json!({ "id": id, "method": method, "params": params });
        if !self.session.is_empty() {
            message["sessionId"] = json!(self.session);
        }
        let mut bytes = message.to_string().into_bytes();
        bytes.push(0);
        self.stdin.write_all(&bytes).unwrap();
        id
    }

    fn next_event(&mut self) {
        let message = self.receive("an event");
        self.events.push(message);
    }

    fn receive(&mut self, what: &str) -> Value {
        self.messages.recv_timeout(PATIENCE).unwrap_or_else(|error| {
            let ended = self.child.try_wait();
            panic!("no answer to {what}: {error}; the browser: {ended:?}")
        })
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // Asked to close it ends its own helpers, too.
        let _ = self.stdin.write_all(b"{\"id\":0,\"method\":\"Browser.close\"}\0");
        for _ in 0..100 {
            if !matches!(self.child.try_wait(), Ok(None)) {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = std::fs::remove_dir_all(&self.profile);
    }
}
