//! Further sheets: the storm as it passes, opening the drains, how sure the margins are, days of rain.

use crate::ask::Which;
use crate::files::Files;
use serde_json::{Value, json};
use std::num::NonZeroUsize;
use wetrun_answers::{
    Asked, DayOrder, Days, Doubted, Flush, FlushAsked, Refusal, ScreenBlock, ScreenSheet, Storm,
    Watch, doubt_sheet, flush_sheet, storm_sheet, year_sheet,
};
use wetrun_site::Site;

/// Works a sheet out; it is called off on the way where nobody waits any more.
///
/// # Errors
/// `None` where nobody waits any more; a refusal where it cannot be worked out.
pub(crate) fn sheet(
    which: Which,
    site: Site,
    files: &dyn Files,
    wanted: &(dyn Fn() -> bool + Sync),
) -> Result<Option<Value>, Refusal> {
    let watch = Watch { wanted, ..Watch::default() };
    let sheet = match which {
        Which::Storm => match Storm::while_wanted(site, None, watch)? {
            Some(storm) if storm.find_meaning(watch) => storm_sheet(&storm),
            _ => return Ok(None),
        },
        Which::Flush => match Flush::while_wanted(site, &FlushAsked::default(), watch)? {
            Some(flush) => flush_sheet(&flush),
            None => return Ok(None),
        },
        Which::Doubt => {
            let threads = std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
            match Doubted::while_wanted(site, &Asked::usual(threads), wanted)? {
                Some(doubted) => doubt_sheet(&doubted),
                None => return Ok(None),
            }
        }
        Which::Year => {
            let days = files.days().map_err(|why| {
                Refusal::because(format_args!("the days of rain cannot be read: {why}"))
            })?;
            let (name, text) = days.ok_or_else(|| {
                Refusal::because("no days of rain were given: start the desk with `--rain FILE`")
            })?;
            let rain = wetrun_answers::rain(&text, &name, None)?;
            match Days::while_wanted(site, rain, DayOrder::UseLast, None, wanted)? {
                Some(days) => year_sheet(&days),
                None => return Ok(None),
            }
        }
    };
    Ok(wanted().then(|| told(&sheet)))
}

fn told(sheet: &ScreenSheet) -> Value {
    let blocks = sheet.blocks.iter().filter_map(|block| {
        Some(match block {
            ScreenBlock::Verdict(good, word, sentence) => {
                json!({ "kind": "verdict", "good": good, "word": word, "sentence": sentence })
            }
            ScreenBlock::Heading(words) => json!({ "kind": "heading", "words": words }),
            ScreenBlock::Text(words) => json!({ "kind": "text", "words": words }),
            ScreenBlock::Facts(facts) => json!({ "kind": "facts", "facts": facts }),
            ScreenBlock::Table(columns, rows) => {
                json!({ "kind": "table", "columns": columns, "rows": rows })
            }
            ScreenBlock::Figure(title, svg) => {
                json!({ "kind": "figure", "title": title, "svg": svg })
            }
            ScreenBlock::Cautions(list) => json!({ "kind": "cautions", "list": list }),
            _ => return None,
        })
    });
    json!({ "title": sheet.title, "blocks": blocks.collect::<Vec<_>>() })
}
