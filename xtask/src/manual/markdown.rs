//! The documents as Markdown: their links, and the names under which their headings are linked.

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

/// What the documents are written in.
pub fn parser(text: &str) -> Parser<'_> {
    Parser::new_ext(text, Options::ENABLE_TABLES)
}

/// Where every link and picture of a document leads.
pub fn links(text: &str) -> Vec<String> {
    let leads = parser(text).filter_map(|event| match event {
        Event::Start(Tag::Link { dest_url, .. } | Tag::Image { dest_url, .. }) => {
            Some(dest_url.into_string())
        }
        _ => None,
    });
    leads.collect()
}

/// The names of a document's headings, in their order.
pub fn headings(text: &str) -> Vec<String> {
    let (mut names, mut inside) = (Vec::new(), false);
    for event in parser(text) {
        match event {
            Event::Start(Tag::Heading { .. }) => {
                names.push(String::new());
                inside = true;
            }
            Event::End(TagEnd::Heading(_)) => inside = false,
            Event::Text(words) | Event::Code(words) if inside => {
                names
                    .last_mut()
                    .into_iter()
                    .for_each(|name| name.push_str(&words));
            }
            _ => {}
        }
    }
    names.iter().map(|heading| name(heading)).collect()
}

/// The name of a heading as the usual viewers make it: small letters, no marks, hyphens for spaces.
fn name(heading: &str) -> String {
    let letters = heading.to_lowercase();
    let kept = letters
        .chars()
        .filter(|letter| letter.is_alphanumeric() || " -_".contains(*letter));
    kept.map(|letter| if letter == ' ' { '-' } else { letter })
        .collect()
}
