//! `wetrun new`: a whole site file from a dozen answers, by questions, flags or a file.

use crate::commands::site_file::SiteFile;
use crate::files;
use crate::outcome::{Answer, Refusal, Status};
use clap::Args;
use clap::builder::PossibleValuesParser;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};
use wetrun_answers::{
    Brief, Draft, answered, demo, demos, draft, questions, read_brief, text, usual,
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
    #[arg(long, value_name = "NAME", value_parser = names(), conflicts_with_all = KEYS)]
    example: Option<String>,

    /// Name a schema (`wetrun schema` prints it) in the first line, for editors: a path as seen from
    /// the file.
    #[arg(long, value_name = "PATH")]
    schema: Option<String>,

    #[command(flatten)]
    given: Given,
}

/// One option a question.
#[derive(Debug, Args)]
struct Given {
    /// How bare numbers are read and reports written: us or si.
    #[arg(long, value_name = "UNITS")]
    units: Option<String>,
    /// Name of the job.
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Height of the gutter outlets above the ground: one for all downspouts, or one for each with
    /// commas between.
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    eaves: Option<String>,
    /// How many downspouts, 1 to 20.
    #[arg(long, value_name = "COUNT", allow_hyphen_values = true)]
    downspouts: Option<String>,
    /// How far apart they come down along the wall.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    spacing: Option<String>,
    /// Roof area in plan that drains to all of them together.
    #[arg(long, value_name = "AREA", allow_hyphen_values = true)]
    roof: Option<String>,
    /// Peak rain that the pipes must carry, the mean of 5 minutes.
    #[arg(long, value_name = "RAIN", allow_hyphen_values = true)]
    rain: Option<String>,
    /// Volume of the tank up to its overflow.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    tank: Option<String>,
    /// Height of the tank's inlet above the same ground.
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    inlet: Option<String>,
    /// How far the pipe runs from the last downspout to the tank.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    distance: Option<String>,
    /// How deep the buried line begins.
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    depth: Option<String>,
    /// Type of the pipes, of the catalogue (`wetrun list pipes`).
    #[arg(long, value_name = "TYPE")]
    pipes: Option<String>,
}

/// What a demo takes the place of.
const KEYS: [&str; 13] = [
    "answers",
    "units",
    "name",
    "eaves",
    "downspouts",
    "spacing",
    "roof",
    "rain",
    "tank",
    "inlet",
    "distance",
    "depth",
    "pipes",
];

fn names() -> PossibleValuesParser {
    PossibleValuesParser::new(demos().iter().map(|demo| demo.name))
}

impl New {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        if let Some(out) = &self.out {
            files::refuse_existing(out)?;
        }
        if let Some(demo) = self.example.as_deref().and_then(demo) {
            let text = format!("{}{}", modeline(self.schema.as_deref()), demo.text);
            return self.write(&text, String::new(), Status::Pass);
        }
        let given = self.given.brief(Brief::default())?;
        let brief = match &self.answers {
            Some(file) => given.or(answers(file)?),
            None => given,
        };
        let nothing = brief == Brief::default() && self.answers.is_none();
        let asks =
            self.answers.is_none() && io::stdin().is_terminal() && io::stderr().is_terminal();
        let draft = match (asks, nothing) {
            (true, _) => ask(brief, self.schema.as_deref())?,
            (false, true) => {
                return Err(Refusal::because(
                    "there is no terminal to ask on: give an option a question (`wetrun new --help`), \
                     `--answers FILE`, or `--example NAME`",
                ));
            }
            (false, false) => draft(&brief, self.schema.as_deref())?,
        };
        let (said, status) = (said(&draft, self.out.as_deref()), draft.status);
        self.write(&draft.text, said, status)
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
    /// These answers put into a brief.
    fn brief(&self, mut brief: Brief) -> Result<Brief, Refusal> {
        for question in questions() {
            if let Some(text) = self.of(question.key) {
                brief = answered(&brief, question.key, text).map_err(|refusal| {
                    Refusal::because(format_args!("--{}: {refusal}", question.key))
                })?;
            }
        }
        Ok(brief)
    }

    fn of(&self, key: &str) -> Option<&str> {
        match key {
            "units" => self.units.as_deref(),
            "name" => self.name.as_deref(),
            "eaves" => self.eaves.as_deref(),
            "downspouts" => self.downspouts.as_deref(),
            "spacing" => self.spacing.as_deref(),
            "roof" => self.roof.as_deref(),
            "rain" => self.rain.as_deref(),
            "tank" => self.tank.as_deref(),
            "inlet" => self.inlet.as_deref(),
            "distance" => self.distance.as_deref(),
            "depth" => self.depth.as_deref(),
            "pipes" => self.pipes.as_deref(),
            _ => None,
        }
    }
}

fn answers(path: &Path) -> Result<Brief, Refusal> {
    let file = SiteFile { path: path.to_owned() };
    read_brief(file.bytes()?, &file.name(), Default::default()).map_err(Refusal::from)
}

fn modeline(schema: Option<&str>) -> String {
    schema.map_or(String::new(), |path| format!("# yaml-language-server: $schema={path}\n"))
}

/// Asks what the brief does not say, on the terminal.
fn ask(mut brief: Brief, schema: Option<&str>) -> Result<Draft, Refusal> {
    let left: Vec<_> = questions()
        .filter(|question| {
            let text = usual(&brief, question.key);
            // What is answered stays as it is with another answer behind it.
            answered(&brief, question.key, &text).is_ok_and(|with| brief.clone().or(with) != brief)
        })
        .collect();
    tell(&format!(
        "{} questions; Enter takes what stands in brackets, ? says more.\n",
        left.len()
    ))?;
    let count = left.len();
    for (index, question) in left.iter().enumerate() {
        brief = answer(&brief, *question, &format!("{}/{count}", index + 1))?;
    }
    loop {
        match draft(&brief, schema) {
            Ok(draft) => return Ok(draft),
            // What does not go together is asked again.
            Err(refusal) if refusal.to_string().starts_with("inlet: ") => {
                tell(&format!("  {}\n", text::wrapped(&refusal.to_string(), 2)))?;
                let question = questions().find(|question| question.key == "inlet");
                let Some(question) = question else { return Err(refusal) };
                brief = answer(&brief, question, "again")?;
            }
            Err(refusal) => return Err(refusal),
        }
    }
}

/// One question, until its answer is one.
fn answer(
    brief: &Brief,
    question: wetrun_answers::Question,
    number: &str,
) -> Result<Brief, Refusal> {
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
