//! The page: one document that brings everything along, and the policy that holds it to that.

use crate::inks;
use base64::prelude::{BASE64_STANDARD, Engine};
use sha2::{Digest, Sha256};

const DOCUMENT: &str = include_str!("../page/desk.html");
const STYLES: &str = include_str!("../page/desk.css");
/// In the order in which they lean on each other.
const SCRIPTS: &[&str] = &[
    include_str!("../page/dom.js"),
    include_str!("../page/server.js"),
    include_str!("../page/field.js"),
    include_str!("../page/piece.js"),
    include_str!("../page/fresh.js"),
    include_str!("../page/begin.js"),
    include_str!("../page/picture.js"),
    include_str!("../page/section.js"),
    include_str!("../page/plan.js"),
    include_str!("../page/tables.js"),
    include_str!("../page/further.js"),
    include_str!("../page/text.js"),
    include_str!("../page/choice.js"),
    include_str!("../page/desk.js"),
];

/// The document and the policy it is sent with.
#[derive(Clone, Debug)]
pub(crate) struct Page {
    pub(crate) html: String,
    pub(crate) policy: String,
}

impl Page {
    pub(crate) fn new() -> Self {
        let style = format!("{}{}{STYLES}", fonts(), inks::styles());
        let script = format!("\"use strict\";\n{}", SCRIPTS.concat());
        let policy = format!(
            "default-src 'none'; script-src '{}'; style-src '{}'; font-src data:; img-src data:; \
             connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; \
             require-trusted-types-for 'script'; trusted-types wetrun-desk",
            hash(&script),
            hash(&style)
        );
        let html = DOCUMENT.replacen("{style}", &style, 1).replacen("{script}", &script, 1);
        Self { html, policy }
    }
}

/// What a policy calls an inline piece by.
fn hash(text: &str) -> String {
    format!("sha256-{}", BASE64_STANDARD.encode(Sha256::digest(text.as_bytes())))
}

/// The font of the sheets, so that drawings come out as wide as they were measured.
fn fonts() -> String {
    let [book, bold] = wetrun_answers::fonts();
    let face = |bytes: &[u8], weight: u32| {
        format!(
            "@font-face{{font-family:\"{}\";font-weight:{weight};src:url(data:font/ttf;base64,{})}}\n",
            wetrun_answers::FONT_FAMILY,
            BASE64_STANDARD.encode(bytes)
        )
    };
    face(book, 400) + &face(bold, 700)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_stands_in_the_page_that_the_policy_would_refuse() {
        let page = Page::new();
        let body = DOCUMENT;
        assert_eq!(page.html.matches("<script>").count(), 1);
        assert_eq!(page.html.matches("<style>").count(), 1);
        for refused in [" style=", " onclick", " onload", "javascript:", "http:", "https:", "src="]
        {
            assert!(!body.contains(refused), "{refused}");
        }
        for script in SCRIPTS {
            for refused in [
                "innerHTML",
                "outerHTML",
                "insertAdjacentHTML",
                "eval(",
                "document.write",
                "cookie",
                "localStorage",
                "sessionStorage",
            ] {
                assert!(!script.contains(refused), "{refused}");
            }
            assert!(!script.contains("</script"));
        }
    }
}
