//! The manual as one HTML page: pictures, drawings and sound are inside it, and it links to nothing but itself.

use std::fs;
use std::path::Path;

use anyhow::Context;
use base64::Engine;
use base64::engine::general_purpose::STANDARD as BASE64;
use pulldown_cmark::{CowStr, Event, Tag, TagEnd, html::push_html};

use super::blocks;
use super::examples::{GROUPS, Group};
use super::markdown::{headings, parser};
use super::rendered::Rendered;
use crate::failure::Outcome;
use crate::sheet::{escape, player, signed};

/// The page of a document whose pictures lie under `docs`.
pub fn html(text: &str, rendered: &[Rendered], docs: &Path) -> Outcome<String> {
    let mut text = text.to_owned();
    for group in GROUPS {
        if let Some(place) = blocks::place(&text, group.key) {
            text.replace_range(place, &mark(group));
        }
    }
    let mut body = body(&text, docs)?;
    for group in GROUPS {
        body = body.replace(
            &format!("<p>{}</p>", mark(group)),
            &players(group, rendered),
        );
    }
    Ok(format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\
         <title>Plumbline: manual</title><style>{}{}</style></head><body class=\"manual\">\n{body}\
         <footer>Plumbline {}</footer></body></html>\n",
        crate::sheet::STYLE,
        include_str!("page.css"),
        env!("CARGO_PKG_VERSION"),
    ))
}

/// What stands in a group's place until its players do.
fn mark(group: &Group) -> String {
    format!("PLAYERS{}", group.key)
}

fn body(text: &str, docs: &Path) -> Outcome<String> {
    let mut names = headings(text).into_iter();
    let mut events = Vec::new();
    let mut elsewhere = Vec::new();
    for event in parser(text) {
        events.push(match event {
            Event::Start(Tag::Heading {
                level,
                classes,
                attrs,
                ..
            }) => {
                let id = names.next().map(CowStr::from);
                Event::Start(Tag::Heading {
                    level,
                    id,
                    classes,
                    attrs,
                })
            }
            Event::Start(Tag::Image {
                link_type,
                dest_url,
                title,
                id,
            }) => {
                let dest_url = picture(&docs.join(&*dest_url))?.into();
                Event::Start(Tag::Image {
                    link_type,
                    dest_url,
                    title,
                    id,
                })
            }
            Event::Start(Tag::Link { ref dest_url, .. }) => {
                let inside = dest_url.starts_with('#') || dest_url.contains("://");
                elsewhere.push(!inside);
                match inside {
                    true => event,
                    false => {
                        Event::InlineHtml(format!("<i title=\"docs/{}\">", escape(dest_url)).into())
                    }
                }
            }
            Event::End(TagEnd::Link) if elsewhere.pop() == Some(true) => {
                Event::InlineHtml("</i>".into())
            }
            event => event,
        });
    }
    let mut body = String::new();
    push_html(&mut body, events.into_iter());
    Ok(body)
}

/// A picture as it stands in the page.
fn picture(path: &Path) -> Outcome<String> {
    let bytes = fs::read(path).with_context(|| format!("cannot read {}", path.display()))?;
    let kind = match path.extension().is_some_and(|ending| ending == "svg") {
        true => "svg+xml",
        false => "png",
    };
    Ok(format!("data:image/{kind};base64,{}", BASE64.encode(bytes)))
}

fn players(group: &Group, rendered: &[Rendered]) -> String {
    let names: Vec<&str> = group.examples.iter().map(|example| example.name).collect();
    let cards: String = rendered
        .iter()
        .filter(|one| names.contains(&one.example.name))
        .map(card)
        .collect();
    format!("<div class=\"examples\">{cards}</div>")
}

fn card(one: &Rendered) -> String {
    format!(
        "<section class=\"panel\"><h4>{}</h4>{}<p class=\"figures\">{}<br>{} LKFS, peak {} dBFS</p>\
         <figure>{}</figure></section>",
        escape(one.example.title),
        player(one.example.title, &one.sound.file),
        escape(&one.facts.said),
        signed(one.facts.loudness_lkfs, 1),
        signed(one.facts.peak_dbfs, 1),
        one.facts.drawing,
    )
}
