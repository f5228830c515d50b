//! `wetrun desk`: one site on a local page, until the program is ended.

use crate::desk_files::{DeskFiles, Taken};
use crate::outcome::{Answer, Refusal, say};
use clap::Args;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;
use wetrun_desk::Desk;

/// Show a site on a page of this machine's browser, where levels are moved by hand and the answer
/// follows.
///
/// The page is served to this machine alone, under an address with a secret in it: whoever has the
/// address may edit the file. Nothing is written before Save; unsaved edits are kept beside the
/// file, in `.SITE.unsaved`, and offered at the next start. Ctrl-C ends the program.
#[derive(Debug, Args)]
pub(crate) struct DeskArgs {
    /// The site file; where none is given a new one, `site.yaml`, from the questions of `wetrun new`.
    #[arg(value_name = "SITE")]
    pub(super) site: Option<PathBuf>,

    /// The port to listen on; a free one where none is given.
    #[arg(long, value_name = "PORT", default_value_t = 0)]
    port: u16,

    /// Days of rain for the sheet of a year, as `wetrun year` reads them.
    #[arg(long, value_name = "FILE")]
    rain: Option<PathBuf>,

    /// Only print the address.
    #[arg(long)]
    no_open: bool,
}

/// The file of a new site.
const NEW: &str = "site.yaml";

impl DeskArgs {
    /// What messages call the file.
    pub(super) fn name(&self) -> String {
        self.site.as_deref().unwrap_or(Path::new(NEW)).display().to_string()
    }

    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let files = match &self.site {
            Some(site) if site == Path::new("-") => {
                return Err(Refusal::because("the desk needs a file that it can write, not `-`"));
            }
            Some(site) => DeskFiles::new(site, self.rain.clone()),
            None if Path::new(NEW).exists() => {
                return Err(Refusal::because(format_args!(
                    "`{NEW}` is there already: `wetrun desk {NEW}` opens it"
                )));
            }
            None => DeskFiles::new_site(Path::new(NEW), self.rain.clone()),
        };
        let files = files.map_err(|Taken| {
            let name = self.name();
            Refusal::because(format_args!(
                "`{name}` is open on another desk: use its page, or end that program first"
            ))
        })?;
        let desk = Desk::open(Arc::new(files), self.port).map_err(Refusal::because)?;
        let address = desk.address();
        say(&format!("{address}\n"))?;
        if !self.no_open {
            open(&address);
        }
        match desk.run() {
            Ok(never) => match never {},
            Err(why) => Err(Refusal::because(why)),
        }
    }
}

/// Opens the browser. A command line can be read by every user of the machine: the secret goes
/// through a file that only this one can read.
fn open(address: &str) {
    let folder = std::env::var_os("XDG_RUNTIME_DIR").map_or_else(std::env::temp_dir, Into::into);
    let file = tempfile::Builder::new().prefix("wetrun-desk-").suffix(".html").tempfile_in(folder);
    let Ok(mut file) = file else { return };
    let page = format!(
        "<!doctype html><meta charset=\"utf-8\"><title>wetrun desk</title>\
         <meta http-equiv=\"refresh\" content=\"0;url={address}\">\n"
    );
    if file.write_all(page.as_bytes()).and_then(|()| file.flush()).is_err() {
        return;
    }
    let mut command = opener();
    command.arg(file.path()).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    // Where there is no browser the printed address is enough.
    let Ok(mut child) = command.spawn() else { return };
    std::thread::spawn(move || {
        let _ = child.wait();
        // The browser may take its time to read it.
        std::thread::sleep(Duration::from_secs(30));
        drop(file);
    });
}

fn opener() -> Command {
    Command::new(match std::env::consts::OS {
        "macos" => "open",
        "windows" => "explorer",
        _ => "xdg-open",
    })
}
