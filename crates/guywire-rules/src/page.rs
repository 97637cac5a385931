//! A rule's page, taken apart: what people read, and the plans that run as tests.

use crate::rule::About;

/// One file of an example.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example<'p> {
    /// Its name.
    pub file: &'p str,
    /// Its text.
    pub text: String,
}

/// A page with its examples found.
#[derive(Debug, Clone)]
pub struct Page<'p> {
    /// The first sentence or two: what it catches.
    pub summary: String,
    /// The whole page as Markdown, without the space that doc comments begin with.
    pub markdown: String,
    /// The files of the bad plan.
    pub bad: Vec<Example<'p>>,
    /// The files of the good plan.
    pub good: Vec<Example<'p>>,
}

impl Page<'_> {
    /// Reads the page of a rule. Code blocks under the heading `Bad` are the bad plan, those under `Good` the good one,
    /// those under `Beside` stand beside both; the word after `toml` is the file's name.
    pub fn of(about: &'static About) -> Page<'static> {
        let lines: Vec<&'static str> = about.page.lines().map(|line| line.strip_prefix(' ').unwrap_or(line)).collect();
        let mut page = Page { summary: summary(&lines), markdown: lines.join("\n"), bad: Vec::new(), good: Vec::new() };
        let mut heading = "";
        let mut open: Option<Example<'static>> = None;
        for line in lines {
            match (&mut open, line.strip_prefix("```")) {
                (None, Some(info)) => {
                    let file = info.split_whitespace().nth(1).unwrap_or("harbor.plan.toml");
                    open = Some(Example { file, text: String::new() });
                }
                (Some(_), Some(_)) => {
                    let Some(example) = open.take() else { continue };
                    match heading {
                        "Bad" => page.bad.push(example),
                        "Good" => page.good.push(example),
                        "Beside" => {
                            page.bad.push(example.clone());
                            page.good.push(example);
                        }
                        _ => {}
                    }
                }
                (Some(example), None) => {
                    example.text.push_str(line);
                    example.text.push('\n');
                }
                (None, None) => {
                    if let Some(text) = line.strip_prefix("## ") {
                        heading = text;
                    }
                }
            }
        }
        page
    }
}

/// The lines up to the first empty one, as one.
fn summary(lines: &[&str]) -> String {
    lines.iter().take_while(|line| !line.is_empty()).copied().collect::<Vec<_>>().join(" ")
}
