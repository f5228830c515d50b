//! A new site from the questions of `wetrun new`.

use serde_json::{Map, Value, json};
use wetrun_answers::{Brief, Refusal, answered, draft, questions, usual};

/// The questions, each with what is usual beside what is answered already.
pub(crate) fn asked(answers: &Map<String, Value>) -> Value {
    // What is no answer is told when the site is begun.
    let brief = questions().fold(Brief::default(), |brief, question| {
        let text = text(answers, question.key);
        if text.is_empty() {
            return brief;
        }
        answered(&brief, question.key, text).unwrap_or(brief)
    });
    let told = questions().map(|question| {
        json!({
            "key": question.key, "asks": question.asks, "more": question.more,
            "usual": usual(&brief, question.key),
        })
    });
    json!({ "questions": told.collect::<Vec<_>>() })
}

/// The text of a new site.
///
/// # Errors
/// In words, where an answer is none or they do not go together.
pub(crate) fn begun(answers: &Map<String, Value>) -> Result<String, String> {
    let mut brief = Brief::default();
    for question in questions() {
        let text = text(answers, question.key);
        if !text.is_empty() {
            brief = answered(&brief, question.key, text)
                .map_err(|why| format!("{}: {why}", question.key))?;
        }
    }
    draft(&brief, None).map(|draft| draft.text).map_err(|why| Refusal::from(why).to_string())
}

fn text<'a>(answers: &'a Map<String, Value>, key: &str) -> &'a str {
    answers.get(key).and_then(Value::as_str).unwrap_or_default().trim()
}
