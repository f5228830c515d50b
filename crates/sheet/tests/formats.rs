//! The three formats: text reads back, nothing from outside, the same bytes twice.

mod support;

use support::pdf::pages as pdf_pages;
use support::{HOSTILE, comb, hostile, long_route, workshop};
use wetrun_sheet::{Medium, render};
use wetrun_units::UnitSystem;

/// Without any white space.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

#[test]
fn levels_margins_and_tags_read_back_from_the_pdf() {
    let case = workshop();
    for units in [UnitSystem::Si, UnitSystem::Us] {
        let bytes = render(&case.input(units), Medium::Pdf).unwrap();
        let pages = pdf_pages(&bytes);
        let all = squeezed(&pages.concat());
        for (d, state) in case.network.downspouts().iter().zip(&case.steady.downspouts) {
            assert!(all.contains(&d.tag));
            let standing = units.show_level(state.standing_level).number;
            let headroom = squeezed(&format!("headroom {}", units.show_height(state.headroom)));
            assert!(all.contains(&standing), "standing level {standing} of {}", d.tag);
            assert!(all.contains(&headroom), "{headroom} of {}", d.tag);
        }
        for line in case.network.lines() {
            assert!(all.contains(&line.tag));
        }
        for (index, page) in pages.iter().enumerate() {
            let page = squeezed(page);
            assert!(page.contains("3f9a12c4"), "page {} shows no hash", index + 1);
            assert!(page.contains(&format!("page{}of{}", index + 1, pages.len())), "{page}");
        }
    }
}

/// The pieces of each route, as printed, add up to the printed standing level: half a unit of
/// the last place for each piece at the most.
#[test]
fn printed_losses_add_up_to_the_printed_standing_level() {
    let case = workshop();
    let text =
        String::from_utf8(render(&case.input(UnitSystem::Si), Medium::Html).unwrap()).unwrap();
    let part = text.split("Standing levels, route by route</h2>").nth(1).unwrap();
    let part = part.split("</section>").next().unwrap();
    let tables: Vec<&str> = part.split("<table>").skip(1).collect();
    assert_eq!(tables.len(), 2);
    for table in tables {
        let mut sum_m = 0.0;
        let mut pieces = 0;
        for row in table.split("<tr").skip(2) {
            let cells: Vec<&str> = row
                .split("<td")
                .skip(1)
                .map(|c| c.split('>').nth(1).unwrap().split('<').next().unwrap())
                .collect();
            let number = |i: usize| cells[i].parse::<f64>().unwrap_or(0.0);
            if cells[0].contains("inlet invert") {
                sum_m = number(9);
            } else if cells[0] == "Standing level" {
                let allowed_m = 0.000_05 * f64::from(4 * pieces + 2);
                assert!((sum_m - number(9)).abs() <= allowed_m, "{sum_m} against {}", number(9));
                break;
            } else {
                sum_m += number(4) + number(6) + number(7) + number(8);
                pieces += 1;
            }
        }
        assert!(pieces >= 4, "{table}");
    }
}

#[test]
fn same_input_same_bytes() {
    for format in [Medium::Pdf, Medium::Html, Medium::Svg] {
        let bytes = || render(&workshop().input(UnitSystem::Us), format).unwrap();
        assert!(bytes() == bytes(), "{format:?} differs between two runs");
    }
}

#[test]
fn svg_and_html_ask_nothing_of_the_outside_and_run_nothing() {
    for case in [workshop(), hostile(), long_route(30)] {
        for format in [Medium::Html, Medium::Svg] {
            let policy = "content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:\"";
            let text =
                String::from_utf8(render(&case.input(UnitSystem::Us), format).unwrap()).unwrap();
            assert_eq!(text.contains(policy), format == Medium::Html);
            let text = text.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
            for forbidden in ["http:", "https:", "<script", "@import", "<iframe", "<object", "<img"]
            {
                assert!(!text.contains(forbidden), "{format:?} contains {forbidden}");
            }
            for link in text.split("url(").skip(1) {
                assert!(link.starts_with("data:font/ttf"), "{}", &link[..30.min(link.len())]);
            }
        }
    }
}

#[test]
fn hostile_tags_stay_text() {
    let case = hostile();
    let input = case.input(UnitSystem::Si);
    let svg = String::from_utf8(render(&input, Medium::Svg).unwrap()).unwrap();
    let html = String::from_utf8(render(&input, Medium::Html).unwrap()).unwrap();
    for text in [&svg, &html] {
        assert!(text.contains("&lt;script&gt;alert(1)"), "the tag is there as text");
        let odd = |c: char| (c.is_control() && c != '\n') || ('\u{202a}'..='\u{202e}').contains(&c);
        assert!(!text.contains(odd), "control characters come through");
        assert!(!text.contains("]]>"));
    }
    // Another reader takes the SVG for well-formed.
    let tree = usvg::Tree::from_str(&svg, &usvg::Options::default());
    assert!(tree.is_ok(), "{:?}", tree.err());
    let pages = pdf_pages(&render(&input, Medium::Pdf).unwrap());
    assert!(squeezed(&pages.concat()).contains("<script>alert(1)"), "{HOSTILE}");
}

#[test]
fn a_long_site_is_paged_with_its_numbers() {
    let case = comb(40);
    let pages = pdf_pages(&render(&case.input(UnitSystem::Si), Medium::Pdf).unwrap());
    let all = squeezed(&pages.concat());
    assert!(all.contains("of40routes"), "says what it leaves out");
    for line in case.network.lines() {
        assert!(all.contains(&line.tag));
    }
}
