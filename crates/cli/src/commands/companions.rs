//! `wetrun completions` and `wetrun man`: what shells and manuals want to know of the program.

use crate::args::Args as Program;
use crate::files::Force;
use crate::outcome::{Answer, Refusal};
use clap::{Args, Command, CommandFactory};
use clap_complete::Shell;
use std::fmt::Write as _;
use std::path::PathBuf;

/// Print the completions of a shell.
///
/// bash: wetrun completions bash > ~/.local/share/bash-completion/completions/wetrun
#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// The shell.
    #[arg(value_name = "SHELL")]
    shell: Shell,
}

impl Completions {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut Program::command(), "wetrun", &mut script);
        String::from_utf8(script).map(Answer::pass).map_err(Refusal::because)
    }
}

/// Write manual pages into a folder: wetrun.1, and one a command.
#[derive(Debug, Args)]
pub(crate) struct Man {
    /// The folder, which must be there.
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

impl Man {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        if !self.folder.is_dir() {
            let folder = self.folder.display();
            return Err(Refusal::because(format_args!("`{folder}` is no folder")));
        }
        let mut written = String::new();
        for page in pages() {
            let name = format!("{}.1", page.get_display_name().unwrap_or(page.get_name()));
            let mut text = Vec::new();
            clap_mangen::Man::new(page).render(&mut text).map_err(Refusal::because)?;
            let path = self.folder.join(&name);
            Force { force: false }.write(&path, &text, &[])?;
            let _ = writeln!(written, "wrote {}", path.display());
        }
        Ok(Answer::pass(written))
    }
}

/// The program, and each of its commands, whose name there is that of its page.
fn pages() -> Vec<Command> {
    let mut program = Program::command();
    program.build();
    let commands = program.get_subcommands().filter(|command| command.get_name() != "help");
    let commands: Vec<Command> = commands.cloned().collect();
    [program].into_iter().chain(commands).collect()
}
