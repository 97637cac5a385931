//! Random documents, plain and hard, valid and broken, and random edits.

use std::ops::Range;

use super::Random;

/// What a document is like.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// Tables as people write them.
    Plain,
    /// With strings and arrays that hold lines shaped like headers, quotes of every kind, other alphabets.
    Hard,
}

/// A valid document of about so many tables.
pub fn document(random: &mut Random, kind: Kind, tables: usize) -> String {
    let mut text = String::new();
    if kind == Kind::Hard && random.one_in(4) {
        text.push('\u{feff}');
    }
    if random.one_in(3) {
        root(random, kind, &mut text);
    }
    for n in 0..tables {
        table(random, kind, n, &mut text);
    }
    if random.one_in(3) { with_crlf(&text) } else { text }
}

/// CR LF everywhere; a valid document stays valid.
pub fn with_crlf(text: &str) -> String {
    text.replace("\r\n", "\n").replace('\n', "\r\n")
}

fn root(random: &mut Random, kind: Kind, text: &mut String) {
    text.push_str("# Saltmarsh Harbor\n");
    text.push_str(&format!("format = {}\n", value(random, kind, 0)));
    if random.one_in(2) {
        text.push_str("harbor.berth = 4\nharbor.lights = [\"red\", \"green\"]\n");
    }
    if random.one_in(2) {
        text.push_str("pilot = [{ name = \"Ada\" }, { name = \"Ben\", on.duty = true }]\n");
    }
}

fn table(random: &mut Random, kind: Kind, n: usize, text: &mut String) {
    let indent = random.pick(&["", "", "", "  ", "\t"]);
    if random.one_in(3) {
        text.push_str("# comment [not.a.header]\n");
    }
    match random.below(8) {
        0 => text.push_str(&format!("{indent}[single{n}]\n")),
        1 => text.push_str(&format!("[ group . \"part {n}\" ] # end\n")),
        2 => text.push_str(&format!("[[license]]\nid = {n}\n[[license.assignment]]\n")),
        3 => text.push_str(&format!("[[license]]\n[license.holder]\nno = {n}\n[[license.assignment]]\n")),
        4 => text.push_str(&format!("[[\"odd name\"]]\nn = {n}\n")),
        _ => text.push_str(&format!("{indent}[[channel]]\n")),
    }
    for key in 0..random.below(5) {
        let line = format!("{indent}key{key} = {}", value(random, kind, 0));
        text.push_str(&line);
        text.push_str(random.pick(&["\n", "\n", " # note \"\n", "\n\n"]));
    }
    if random.one_in(4) {
        text.push_str("dot.a = 1\ndot.'b c' = 2\n");
    }
}

fn value(random: &mut Random, kind: Kind, depth: usize) -> String {
    let plain = [
        "1",
        "-17",
        "462.5625",
        "1_000",
        "0x1F",
        "true",
        "false",
        "\"Dock\"",
        "\"\"",
        "'C:\\dir'",
        "2026-01-31",
        "1979-05-27T07:32:00Z",
        "1979-05-27 07:32:00",
        "07:32:00",
        "inf",
        "-nan",
        "1e6",
        "\"tab\\t\\u00e9\"",
    ];
    let hard = [
        "\"\"\"\n[not.a.header]\n[[nor.this]]\n\"\"\"",
        "'''\n[x]\n\"\"\"\n'''",
        "\"\"\"a \\\"\"\" b\"\"\"\"",
        "''''quoted''''",
        "\"\"\"\"\"\"",
        "\"# no comment [\"",
        "\"\u{1F4FB} \u{e9}\u{4e2d}\"",
        "'\"\"\"'",
        "\"'''\"",
        "[\n[2],\n  [true],\n[1979-05-27] # x\n]",
        "[ # [a]\n \"]\", '['\n,\n]",
        "\"\"\"line \\\n   [joined]\n\"\"\"",
    ];
    if depth < 3 && random.one_in(6) {
        let n = random.below(4);
        let items: Vec<String> = (0..n).map(|_| value(random, kind, depth + 1)).collect();
        return format!("[{}]", items.join(random.pick(&[", ", ",", " , "])));
    }
    if depth < 2 && random.one_in(9) {
        let items: Vec<String> =
            (0..random.below(3)).map(|n| format!("k{n} = {}", value(random, kind, depth + 1))).collect();
        return format!("{{ {} }}", items.join(", "));
    }
    if kind == Kind::Hard && random.one_in(3) {
        return hard[random.below(hard.len())].to_string();
    }
    plain[random.below(plain.len())].to_string()
}

/// Bits of text that move what is around them.
const BITS: &[&str] = &[
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    "\"",
    "'",
    "\"\"\"",
    "'''",
    "\\",
    "\n",
    "\r\n",
    "\r",
    "#",
    "=",
    ".",
    ",",
    " ",
    "a",
    "1",
    "[a]\n",
    "[[channel]]\n",
    "[channel]\n",
    "\n[channel.sub]\n",
    "[[license.assignment]]\n",
    "[license]\n",
    "channel = 1\n",
    "channel.x = 1\n",
    "key = \"\"\"",
    "\n\"\"\"\n",
    "key = '''\n",
    "x = [\n",
    "\u{1F4FB}",
    "\u{e9}",
    "\u{feff}",
    "\0",
    "\u{2028}",
    "\n[[b\n",
    "license = [{ a = 1 }]\n",
    "id = 1\n",
    "\n[2]\n",
    "true",
    "key0 = 1\n",
    "\n[x.y\n",
    "{ a = [\n",
];

/// Any text: bits in any order.
pub fn noise(random: &mut Random, bits: usize) -> String {
    (0..bits).map(|_| BITS[random.below(BITS.len())]).collect()
}

/// A place and what to put there.
pub fn edit(random: &mut Random, text: &str) -> (Range<usize>, String) {
    let boundary = |at: usize| (0..=at.min(text.len())).rev().find(|n| text.is_char_boundary(*n)).unwrap_or(0);
    let start = boundary(random.below(text.len() + 1));
    let len = match random.below(10) {
        0..4 => 0,
        4..7 => 1,
        7..9 => random.below(30),
        _ => random.below(text.len() + 1),
    };
    let end = boundary(start + len).max(start);
    let with = match random.below(10) {
        0..2 => String::new(),
        2..8 => noise(random, 1),
        8 => noise(random, 4),
        _ => {
            let kind = if random.one_in(2) { Kind::Plain } else { Kind::Hard };
            let tables = random.below(4);
            document(random, kind, tables)
        }
    };
    (start..end, with)
}

/// One small accident at one place: a character gone, or one too many, or a line cut short.
pub fn damage(random: &mut Random, text: &str) -> String {
    let boundary = |at: usize| (0..=at.min(text.len())).rev().find(|n| text.is_char_boundary(*n)).unwrap_or(0);
    let at = boundary(random.below(text.len()));
    let next = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
    let with = match random.below(3) {
        0 => return format!("{}{}", &text[..at], &text[next..]),
        1 => {
            let end = text[at..].find('\n').map_or(text.len(), |n| at + n);
            return format!("{}{}", &text[..at], &text[end..]);
        }
        _ => random.pick(&["[", "]", "{", "}", "\"", "'", "=", ",", "\n", "x", " ", "#", "\\", "."]),
    };
    format!("{}{with}{}", &text[..at], &text[at..])
}
