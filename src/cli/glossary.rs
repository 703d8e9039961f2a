use super::{CLEAN, files};
use anyhow::{Result, bail};
use clap::ValueEnum;
use std::path::PathBuf;
use tautmark::render::{Term, glossary, glossary_html, glossary_text};

/// The words of the trade that the tool speaks in, each with a small picture.
///
/// Exit status: 0 shown; 2 no such word, or a file that cannot be written.
#[derive(clap::Args)]
pub(crate) struct GlossaryArguments {
    /// Only these (dot, 'coloured link', retarded...); without any, all of them
    #[arg(value_name = "WORD")]
    words: Vec<String>,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: GlossaryFormat,
    /// Write it to this file, which must not exist yet, instead of printing it
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Overwrite that file if it exists
    #[arg(long, requires = "output")]
    force: bool,
    /// Characters on a line of text
    #[arg(long, value_name = "N", default_value_t = 79, value_parser = clap::value_parser!(u16).range(40..=200))]
    width: u16,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum GlossaryFormat {
    /// Words alone
    Text,
    /// A page with the pictures, for a browser or the wall
    Html,
    /// The picture of one word
    Svg,
}

pub(crate) fn run(arguments: &GlossaryArguments) -> Result<u8> {
    let mut terms: Vec<&Term> = Vec::new();
    for word in &arguments.words {
        let word = word.trim();
        let Some(term) = glossary().iter().find(|term| term.is_called(word)) else {
            let known: Vec<&str> = glossary().iter().map(|term| term.word).collect();
            bail!(
                "'{word}' is not in the glossary (it has: {})",
                known.join("; ")
            );
        };
        if !terms.iter().any(|other| other.word == term.word) {
            terms.push(term);
        }
    }
    if terms.is_empty() {
        terms = glossary().iter().collect();
    }
    let text = match (arguments.format, &terms[..]) {
        (GlossaryFormat::Text, _) => glossary_text(&terms, usize::from(arguments.width)),
        (GlossaryFormat::Html, _) => glossary_html(&terms)?,
        (GlossaryFormat::Svg, [term]) => term.picture()?,
        (GlossaryFormat::Svg, _) => {
            bail!("--format svg: which word? (tautmark glossary dot --format svg)")
        }
    };
    files::hand_over(arguments.output.as_deref(), &text, arguments.force)?;
    Ok(CLEAN)
}
