//! A desk that runs over a copy of a site, and a page on it.

use crate::browser::devtools::Browser;
use crate::support::{root, wetrun};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use tempfile::TempDir;

/// A site of the repository, copied into a folder of its own.
pub(crate) struct Site {
    _folder: TempDir,
    pub(crate) path: PathBuf,
    pub(crate) text: String,
}

impl Site {
    pub(crate) fn of(demo: &str) -> Self {
        let text = std::fs::read_to_string(root().join(demo)).unwrap();
        Self::with(&text)
    }

    pub(crate) fn with(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("site.yaml");
        std::fs::write(&path, text).unwrap();
        Self { _folder: folder, path, text: text.to_owned() }
    }

    pub(crate) fn on_disk(&self) -> String {
        std::fs::read_to_string(&self.path).unwrap()
    }

    pub(crate) fn unsaved(&self) -> PathBuf {
        self.path.with_file_name(".site.yaml.unsaved")
    }
}

/// The program at work.
pub(crate) struct Desk {
    child: Child,
    pub(crate) address: String,
}

impl Desk {
    pub(crate) fn start(site: &Path) -> Self {
        Self::spawn(&mut wetrun(&["desk", site.to_str().unwrap(), "--no-open"]))
    }

    /// Without a file, in a folder.
    pub(crate) fn start_in(folder: &Path) -> Self {
        Self::spawn(wetrun(&["desk", "--no-open"]).current_dir(folder))
    }

    /// With days of rain.
    pub(crate) fn start_with_rain(site: &Path, days: &Path) -> Self {
        let (site, days) = (site.to_str().unwrap(), days.to_str().unwrap());
        Self::spawn(&mut wetrun(&["desk", site, "--no-open", "--rain", days]))
    }

    fn spawn(command: &mut Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut address = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut address).unwrap();
        assert!(address.starts_with("http://127.0.0.1:"), "{address}");
        Self { child, address: address.trim().to_owned() }
    }

    /// The address without the secret.
    pub(crate) fn bare(&self) -> &str {
        self.address.split('#').next().unwrap()
    }

    pub(crate) fn secret(&self) -> &str {
        self.address.split('#').nth(1).unwrap()
    }

    /// Ctrl-C in its terminal; gives how long it takes to end. What runs behind a shell is made deaf to
    /// that, and everything that it starts: there it is asked to terminate, which ends it likewise.
    #[cfg(unix)]
    pub(crate) fn interrupt(mut self) -> std::time::Duration {
        let began = std::time::Instant::now();
        let id = self.child.id().to_string();
        for signal in ["-INT", "-TERM"] {
            assert!(Command::new("kill").args([signal, &id]).status().unwrap().success());
            let waits = std::time::Duration::from_millis(500);
            let sent = std::time::Instant::now();
            while sent.elapsed() < waits {
                if self.child.try_wait().unwrap().is_some() {
                    return began.elapsed();
                }
                std::thread::sleep(std::time::Duration::from_millis(10));
            }
        }
        self.child.kill().unwrap();
        panic!("it runs on");
    }

    /// Ends the program as nothing that it could prepare for does, and gives what it complained of.
    pub(crate) fn kill(mut self) -> String {
        self.child.kill().unwrap();
        let mut told = String::new();
        std::io::Read::read_to_string(&mut self.child.stderr.take().unwrap(), &mut told).unwrap();
        told
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Opens a desk and waits until all but the review stands there.
pub(crate) fn open(browser: &mut Browser, desk: &Desk, width_px: u32) {
    browser.visit("about:blank", width_px);
    browser.visit(&desk.address, width_px);
    browser.until("!document.querySelector('main').hidden");
    rested(browser);
}

/// Waits for the review as well, which comes last.
pub(crate) fn reviewed(browser: &mut Browser) {
    browser.until(
        "document.querySelector('#findings details') && !document.querySelector('#findings').className.includes('old-picture')",
    );
}

/// Waits for what takes longer.
pub(crate) fn rested(browser: &mut Browser) {
    browser.until(
        "!document.querySelector('main').hidden && !document.querySelector('#cause').textContent.endsWith('\u{2026}')",
    );
}

/// A handle as an expression in the page.
pub(crate) fn handle(name: &str) -> String {
    format!(
        "[...document.querySelectorAll('[role=slider]')].find(h => h.getAttribute('aria-label') === '{name}')"
    )
}

/// Where the middle of an element is in the window.
pub(crate) fn middle(browser: &mut Browser, element: &str) -> (f64, f64) {
    let at = browser.evaluate(&format!(
        "(() => {{ const element = {element}; element.scrollIntoView({{ block: 'center' }}); \
         const box = element.getBoundingClientRect(); \
         return [(box.left + box.right) / 2, (box.top + box.bottom) / 2]; }})()"
    ));
    (at[0].as_f64().unwrap(), at[1].as_f64().unwrap())
}

/// The text of the file as the page has it.
pub(crate) fn text(browser: &mut Browser) -> String {
    browser.evaluate("document.querySelector('#typed').value").as_str().unwrap().to_owned()
}

/// The text of an element.
pub(crate) fn words(browser: &mut Browser, element: &str) -> String {
    let words = browser.evaluate(&format!("document.querySelector('{element}').textContent"));
    words.as_str().unwrap().to_owned()
}

/// Waits until the page's text is another than `before`, and gives it.
pub(crate) fn other_text(browser: &mut Browser, before: &str) -> String {
    let before = serde_json::to_string(before).unwrap();
    browser.until(&format!("document.querySelector('#typed').value !== {before}"));
    text(browser)
}

/// Presses a button.
pub(crate) fn click(browser: &mut Browser, element: &str) {
    browser.evaluate(&format!("document.querySelector('{element}').click()"));
}

/// Types over what stands in the file's text.
pub(crate) fn edit(browser: &mut Browser, from: &str, to: &str) {
    let (from, to) = (serde_json::to_string(from).unwrap(), serde_json::to_string(to).unwrap());
    browser.evaluate(&format!(
        "(() => {{ const area = document.querySelector('#typed'); \
         const at = area.value.indexOf({from}); area.focus(); \
         area.setSelectionRange(at, at + {from}.length); }})()"
    ));
    browser.type_in(&serde_json::from_str::<String>(&to).unwrap());
}
