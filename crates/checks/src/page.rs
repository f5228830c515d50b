//! The page of a rule, and the document of them all: one text for the program and the paper.

use crate::cautions::CAUTIONS;
use crate::rule::{Rule, Section};
use wetrun_units::UnitSystem;

/// The parts of a rule's page: a short name and the words.
pub fn page_parts(rule: &Rule) -> Vec<(&'static str, String)> {
    let mut parts = vec![
        ("checks", rule.checks.to_owned()),
        ("why", rule.why.to_owned()),
        ("threshold", threshold(rule)),
        ("source", format!("{} ({})", rule.source.text, rule.source.confidence.words())),
        ("reads", rule.keys.to_owned()),
        ("mend", rule.mend.to_owned()),
    ];
    if rule.limit.is_some() {
        let own = format!("rules: {{ {}: {{ limit: …, reason: …, basis: … }} }}", rule.name);
        parts.push(("change", own));
    }
    parts
}

/// The threshold in words, with the built-in value in both unit systems.
fn threshold(rule: &Rule) -> String {
    let Some(limit) = rule.limit else { return rule.threshold.to_owned() };
    let (us, si) = (limit.exact(UnitSystem::Us), limit.exact(UnitSystem::Si));
    let value = if us == si { si } else { format!("{us} ({si})") };
    format!("{value}: {}", rule.threshold)
}

/// The whole checklist as a Markdown document.
pub fn document() -> String {
    let mut out = String::from(HEAD);
    for section in Section::ALL {
        out.push_str(&format!("## {}\n\n", section.heading()));
        for rule in crate::rules().iter().filter(|rule| rule.section == section) {
            out.push_str(&format!("### `{}`\n\n", rule.name));
            for (name, words) in page_parts(rule) {
                let code = name == "change" || name == "reads";
                let words = if code { format!("`{words}`") } else { words };
                out.push_str(&format!("- **{name}**: {words}\n"));
            }
            out.push('\n');
        }
    }
    out.push_str("## Cautions\n\nPrinted on every review and every sheet:\n\n");
    for caution in CAUTIONS {
        out.push_str(&format!("- {caution}\n"));
    }
    out
}

/// The document's head.
const HEAD: &str = "\
# The checks

This document is generated from the rules in `crates/checks/src/rules`; `wetrun explain RULE`
prints the same text. Regenerate it with `UPDATE_EXPECT=1 cargo test -p wetrun-checks`.

`wetrun review SITE` applies every rule below to a site file. Each item comes out as one of

| outcome | meaning |
| --- | --- |
| `pass` | it conforms |
| `fail` | it does not conform |
| `caution` | somebody should look at it |
| `not-shown` | the file lacks what the rule needs |
| `needs-decision` | a person must decide |
| `not-applicable` | there is nothing to judge |

A review comes to one of

| it opens with | meaning | exit status |
| --- | --- | --- |
| CONFORMS | nothing fails, and all that is asked for is shown | 0 |
| INCOMPLETE | nothing fails, and something that is asked for is not shown | 1 |
| DOES NOT CONFORM | something fails | 1 |

With `--strict` what is not shown fails. The status is 2 if the file could not be read or solved.
Every rule makes a drawing incomplete where it asks and the drawing says nothing, so that saying
less never makes a drawing better.

What a drawing only says, in words, is *stated*: the review quotes the words for the person who
reads them. `no` and `none` deny. Words that only hold a place (`TBD`, `?`, `-`, `to follow`,
`unknown`, `never`, `n/a` and their like) are not shown.

What the file says nowhere is asked once, for the whole site. `wetrun review --todo SITE` prints
the keys that would show it, to be pasted at the end of the file, or over the section that was pasted
before, and filled in. They stand under `shown:`, from where each goes to its own place; what is
still `TBD` there stays not shown.
`defaults:` answers for all of a kind that say nothing else themselves:

```yaml
defaults:
  downspouts: { outlet_size: 3 in, leaf_mesh: 5 mm, insect_mesh: 1 mm, cleanout: no }
  points: { cap: sealed }
  lines: { vehicles: no }
  tanks: { buried: no, inlet_mesh: 1 mm, overflow_mesh: 1 mm }
```

`wetrun check` judges the few rules that decide whether the design holds: `freeboard`, `no-spill`,
`no-escape`, `tank-rim`, `gutter-capacity` and `gutter-outlet`, and gives the cautions of
`overflow-missing`, `overflow-cascade` and `law-range`.

Thresholds are data. A built-in one is changed in the site file, with a reason and a basis that
are printed with the finding; a rule without a `change` line has none to change:

```yaml
rules:
  cover: { limit: 18 in, reason: deliveries over the lawn, basis: owner's letter of 3 May }
```

Each source says how well it is known: *read* (its text, or a copy or quotation of it, was read),
*recalled* (known, not read), *common practice* (no source is claimed), *reasoned* (it follows from
the physics or from the calculation itself). No threshold here replaces the local code.

";
