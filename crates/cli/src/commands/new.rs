//! `wetrun new`: a whole site file from a dozen answers, by questions, flags or a file.

use crate::commands::site_file::SiteFile;
use crate::files;
use crate::outcome::{Answer, Refusal, Status};
use clap::builder::PossibleValuesParser;
use clap::{Arg, ArgGroup, ArgMatches, Args, Command, FromArgMatches};
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};
use wetrun_answers::{
    Brief, Draft, NoDraft, Question, answered, demo, demos, draft, given, modeline, questions,
    text, usual,
};

/// Write a new site file: from a dozen questions on a terminal, from one option a question, or from a
/// file of answers; or one of the demo sites.
///
/// Sizes are chosen so that it works where any do. What the review asks for and nobody knows yet
/// stands in it as commented lines. A file that is there is never written over.
#[derive(Debug, Args)]
pub(crate) struct New {
    /// The file to write; standard output where this is not given.
    #[arg(value_name = "OUT")]
    out: Option<PathBuf>,

    /// A file of answers: YAML with the names of the options below as keys.
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,

    /// Write this demo site instead.
    #[arg(long, value_name = "NAME", value_parser = names(), conflicts_with_all = ["answers", GIVEN])]
    example: Option<String>,

    /// Name a schema (`wetrun schema` prints it) in the first line, for editors: a path as seen from
    /// the file.
    #[arg(long, value_name = "PATH")]
    schema: Option<String>,

    #[command(flatten)]
    given: Given,
}

/// A text for each question that was answered by an option.
#[derive(Debug)]
struct Given(Vec<(&'static str, String)>);

/// The group of the options of questions.
const GIVEN: &str = "given";

impl Args for Given {
    fn augment_args(command: Command) -> Command {
        let option = |question: Question| {
            let mut help = question.more.to_owned();
            if let Some(first) = help.get_mut(..1) {
                first.make_ascii_uppercase();
            }
            let option =
                Arg::new(question.key).long(question.key).value_name(question.holds).help(help);
            option.allow_hyphen_values(true)
        };
        let keys = questions().map(|question| question.key);
        command.args(questions().map(option)).group(ArgGroup::new(GIVEN).args(keys).multiple(true))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Given {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let text = |key| Some((key, matches.get_one::<String>(key)?.clone()));
        Ok(Self(questions().filter_map(|question| text(question.key)).collect()))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

fn names() -> PossibleValuesParser {
    PossibleValuesParser::new(demos().iter().map(|demo| demo.name))
}

impl New {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        if let Some(out) = &self.out {
            files::refuse_existing(out)?;
        }
        if let Some(demo) = self.example.as_deref().and_then(demo) {
            let first = self.schema.as_deref().map(modeline).unwrap_or_default();
            let text = format!("{first}{}", demo.text);
            return self.write(&text, String::new(), Status::Pass);
        }
        let schema = self.schema.as_deref();
        let asks =
            self.answers.is_none() && io::stdin().is_terminal() && io::stderr().is_terminal();
        let nothing = self.given.0.is_empty() && self.answers.is_none();
        let draft = match (asks, nothing) {
            (true, _) => ask(&self.given, schema)?,
            (false, true) => {
                return Err(Refusal::because(
                    "there is no terminal to ask on: give an option a question (`wetrun new --help`), \
                     `--answers FILE`, or `--example NAME`",
                ));
            }
            (false, false) => draft(&self.brief()?, schema)?,
        };
        let (said, status) = (said(&draft, self.out.as_deref()), draft.status);
        self.write(&draft.text, said, status)
    }

    /// What the options say, and behind them the file of answers.
    fn brief(&self) -> Result<Brief, Refusal> {
        let Some(path) = &self.answers else { return given(&self.given.all(), None) };
        let file = SiteFile { path: path.clone() };
        given(&self.given.all(), Some((&file.bytes()?, &file.name())))
    }

    /// Writes the file, or has it printed; what is said of it goes beside it.
    fn write(self, text: &str, said: String, status: Status) -> Result<Answer, Refusal> {
        let Some(out) = self.out else {
            let mut answer = Answer::new(text.to_owned(), status);
            answer.warning = said;
            return Ok(answer);
        };
        files::write_new(&out, text.as_bytes())?;
        Ok(Answer::new(format!("wrote {}\n{said}", out.display()), status))
    }
}

impl Given {
    fn all(&self) -> Vec<(&str, &str)> {
        self.0.iter().map(|(key, text)| (*key, text.as_str())).collect()
    }
}

/// Asks what no option says, on the terminal.
fn ask(options: &Given, schema: Option<&str>) -> Result<Draft, Refusal> {
    let said = |key: &str| options.0.iter().any(|(said, _)| *said == key);
    let left: Vec<Question> = questions().filter(|question| !said(question.key)).collect();
    tell(&format!(
        "{} questions; Enter takes what stands in brackets, ? says more.\n",
        left.len()
    ))?;
    let count = left.len();
    let mut numbered = left.into_iter().zip(1..).peekable();
    // The units first: by them bare numbers of the options are read too.
    let mut brief = Brief::default();
    while let Some((question, number)) = numbered.next_if(|(question, _)| question.settles()) {
        brief = answer(&brief, question, &format!("{number}/{count}"))?;
    }
    let units = brief.units.map(|units| ("units", units.name()));
    brief = given(&units.into_iter().chain(options.all()).collect::<Vec<_>>(), None)?;
    for (question, number) in numbered {
        brief = answer(&brief, question, &format!("{number}/{count}"))?;
    }
    loop {
        match draft(&brief, schema) {
            Ok(draft) => return Ok(draft),
            // What does not go together is asked again.
            Err(NoDraft::Answer { key, why }) => {
                tell(&format!("  {}\n", text::wrapped(&why.to_string(), 2)))?;
                let question = questions().find(|question| question.key == key);
                brief = answer(&brief, question.ok_or(why)?, "again")?;
            }
            Err(none) => return Err(none.into()),
        }
    }
}

/// One question, until its answer is one.
fn answer(brief: &Brief, question: Question, number: &str) -> Result<Brief, Refusal> {
    let usual = usual(brief, question.key);
    loop {
        tell(&format!("{number}  {} [{usual}]: ", question.asks))?;
        let mut line = String::new();
        let read = io::stdin().lock().read_line(&mut line);
        match read {
            Ok(0) => return Err(Refusal::because("left at a question; nothing is written")),
            Err(error) => {
                return Err(Refusal::because(format_args!("cannot read the answer: {error}")));
            }
            Ok(_) => {}
        }
        let text = match line.trim() {
            "" => usual.as_str(),
            "?" => {
                tell(&format!("  {}\n", text::wrapped(question.more, 2)))?;
                continue;
            }
            text => text,
        };
        match answered(brief, question.key, text) {
            Ok(brief) => return Ok(brief),
            Err(refusal) => tell(&format!("  {}\n", text::wrapped(&refusal.to_string(), 2)))?,
        }
    }
}

/// Words to whoever sits at the terminal; the file may go to standard output.
fn tell(words: &str) -> Result<(), Refusal> {
    let mut stderr = io::stderr().lock();
    let done = stderr.write_all(words.as_bytes()).and_then(|()| stderr.flush());
    done.map_err(|error| Refusal::because(format_args!("cannot ask: {error}")))
}

/// What is said beside the file: whether it holds, what was taken for it, what to do next.
fn said(draft: &Draft, out: Option<&Path>) -> String {
    let mut lines = vec![draft.verdict.clone()];
    if let Some((why, mends)) = &draft.fails {
        lines.push(format!("no size of these pipes works: {why}"));
        lines.extend(mends.iter().map(|mend| format!("it would do to {mend}")));
    }
    if !draft.assumed.is_empty() {
        let assumed = draft.assumed.iter().map(|(key, text)| format!("{key} {text}"));
        lines.push(format!("taken as usual: {}", assumed.collect::<Vec<_>>().join(", ")));
    }
    lines.extend(out.map(|out| format!("next: wetrun check {}", out.display())));
    lines.iter().map(|line| format!("{}\n", text::wrapped(line, 2).trim_start())).collect()
}
