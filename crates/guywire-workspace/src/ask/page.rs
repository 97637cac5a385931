//! What a hover is made of: a heading, paragraphs, facts, and the cautions that belong to them; as Markdown and as plain
//! text.

use std::fmt::Write as _;

use guywire_radio::Caution;

/// A page under way.
#[derive(Debug, Default)]
pub(crate) struct Page {
    blocks: Vec<Block>,
    cautions: Vec<Caution>,
}

#[derive(Debug)]
enum Block {
    /// What the page is about, as the plan calls it.
    Title(String),
    /// A paragraph in the language's own Markdown.
    Prose(String),
    /// What a name leads to: begins a list of facts.
    Heading(String),
    /// A value with its unit and source.
    Fact(String),
}

impl Page {
    /// Says what the page is about: text from a plan, in bold.
    pub(crate) fn title(&mut self, text: String) {
        self.blocks.push(Block::Title(text));
    }

    /// Adds a paragraph. Its text may hold Markdown of the language table: bold and code.
    pub(crate) fn prose(&mut self, text: String) {
        self.blocks.push(Block::Prose(text));
    }

    /// Adds a line that names what the facts after it are about.
    pub(crate) fn heading(&mut self, text: String) {
        self.blocks.push(Block::Heading(text));
    }

    /// Adds a fact, unless the list under way has it: two computations of one key may come to the same.
    pub(crate) fn fact(&mut self, text: impl Into<String>) {
        let text = text.into();
        let mut list = self.blocks.iter().rev().take_while(|block| matches!(block, Block::Fact(_)));
        if !list.any(|block| matches!(block, Block::Fact(fact) if *fact == text)) {
            self.blocks.push(Block::Fact(text));
        }
    }

    /// Adds a fact where there is one.
    pub(crate) fn maybe(&mut self, text: Option<String>) {
        if let Some(text) = text {
            self.fact(text);
        }
    }

    /// Says a caution at the end, once.
    pub(crate) fn caution(&mut self, caution: Caution) {
        if !self.cautions.contains(&caution) {
            self.cautions.push(caution);
        }
    }

    /// Whether nothing is said.
    pub(crate) fn is_empty(&self) -> bool {
        self.blocks.is_empty()
    }

    /// As Markdown: facts are a list, cautions stand in italics below.
    pub(crate) fn markdown(&self) -> String {
        self.render(|title| format!("**{}**", escaped(title)), str::to_owned, escaped, |caution| format!("*{caution}*"))
    }

    /// As plain text.
    pub(crate) fn plain(&self) -> String {
        let unmarked = |prose: &str| prose.replace("**", "").replace('`', "");
        self.render(str::to_owned, unmarked, str::to_owned, |caution| caution.to_string())
    }

    fn render(
        &self,
        title: impl Fn(&str) -> String,
        prose: impl Fn(&str) -> String,
        fact: impl Fn(&str) -> String,
        caution: impl Fn(Caution) -> String,
    ) -> String {
        let mut page = String::new();
        let mut in_list = false;
        for block in &self.blocks {
            let is_fact = matches!(block, Block::Fact(_));
            let gap = if page.is_empty() || (in_list && is_fact) { "" } else { "\n" };
            let _ = match block {
                Block::Title(text) => writeln!(page, "{gap}{}", title(text)),
                Block::Prose(text) => writeln!(page, "{gap}{}", prose(text)),
                Block::Heading(text) => writeln!(page, "{gap}{}", fact(text)),
                Block::Fact(text) => writeln!(page, "{gap}- {}", fact(text)),
            };
            in_list = is_fact;
        }
        for said in &self.cautions {
            let _ = writeln!(page, "\n{}", caution(*said));
        }
        page.truncate(page.trim_end().len());
        page
    }
}

/// Text from a plan in which Markdown reads nothing.
fn escaped(text: &str) -> String {
    let mut page = String::with_capacity(text.len());
    for letter in text.chars() {
        if matches!(letter, '\\' | '*' | '`' | '<' | '[' | '_' | '|') {
            page.push('\\');
        }
        page.push(letter);
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_reads_alike_in_both_forms() {
        let mut page = Page::default();
        page.title("site \"A*b\"".to_owned());
        page.prose("**power_w** (W): Output of `x`.".to_owned());
        page.fact("4 W = 36.0 dBm");
        page.fact("4 W = 36.0 dBm");
        page.heading("Talkgroup \"A*b_c\".".to_owned());
        page.fact("number 7");
        page.caution(Caution::Scramble);
        page.caution(Caution::Scramble);
        assert_eq!(
            page.markdown(),
            "**site \"A\\*b\"**\n\n**power_w** (W): Output of `x`.\n\n- 4 W = 36.0 dBm\n\nTalkgroup \"A\\*b\\_c\".\n\n- number 7\n\n\
             *Fixed scrambling keeps out casual listeners only.*"
        );
        assert_eq!(
            page.plain(),
            "site \"A*b\"\n\npower_w (W): Output of x.\n\n- 4 W = 36.0 dBm\n\nTalkgroup \"A*b_c\".\n\n- number 7\n\n\
             Fixed scrambling keeps out casual listeners only."
        );
    }
}
