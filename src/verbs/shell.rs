//! `putby completions` and `putby man`: what a shell and a manual reader need, from the definitions of the command line.

use super::cli::{Cli, Shared};
use super::{Exit, Failure, deliver};
use clap::builder::StyledStr;
use clap::{Args, Command, CommandFactory, ValueEnum};
use clap_complete::{Shell, generate};
use clap_mangen::Man;
use std::io;

/// Exit codes and what they mean.
const EXITS: [(&str, &str); 5] = [
    ("0", "done; also when a reader closed the pipe"),
    ("1", "a check found something"),
    ("2", "the command line was wrong"),
    ("3", "files of the garden were wrong or missing"),
    ("70", "a fault of the program"),
];

/// Arguments of `completions`.
#[derive(Debug, Clone, Args)]
pub struct CompletionsArgs {
    /// Shell that reads them: bash, zsh or fish
    #[arg(value_enum, hide_possible_values = true)]
    shell: Known,
}

/// Shells that are served.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Known {
    /// Bash
    Bash,
    /// Zsh
    Zsh,
    /// Fish
    Fish,
}

/// Writes the completions of one shell.
pub(super) fn completions(shared: &Shared, arguments: &CompletionsArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "completions")?;
    deliver::text_out(&script(arguments.shell), shared)?;
    Ok(Exit::Done)
}

fn script(shell: Known) -> String {
    let shell = match shell {
        Known::Bash => Shell::Bash,
        Known::Zsh => Shell::Zsh,
        Known::Fish => Shell::Fish,
    };
    let mut command = Cli::command();
    let name = command.get_name().to_owned();
    let mut script = Vec::new();
    generate(shell, &mut command, name, &mut script);
    String::from_utf8_lossy(&script).into_owned()
}

/// Writes the manual page.
pub(super) fn man(shared: &Shared) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "man")?;
    deliver::text_out(&page()?, shared)?;
    Ok(Exit::Done)
}

fn page() -> Result<String, Failure> {
    written().map_err(|error| Failure::File(format!("the manual page: {error}")))
}

/// The usual sections, and all verbs on the one page: they have no pages of their own.
fn written() -> io::Result<String> {
    let mut command = Cli::command();
    command.build();
    let man = Man::new(command.clone());
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    let mut text = String::from_utf8_lossy(&page).into_owned();
    text.push_str(".SH VERBS\n");
    for verb in command.get_subcommands() {
        text.push_str(&verb_entry(verb));
    }
    text.push_str(".SH EXIT STATUS\n");
    for (code, meaning) in EXITS {
        text.push_str(&format!(".TP\n\\fB{code}\\fR\n{}\n", roff(meaning)));
    }
    Ok(text)
}

/// One verb with what only it takes.
fn verb_entry(verb: &Command) -> String {
    let about = |text: Option<&StyledStr>| roff(&text.map(ToString::to_string).unwrap_or_default());
    let mut entry = format!(
        ".TP\n\\fB{}\\fR\n{}\n",
        roff(verb.get_name()),
        about(verb.get_about())
    );
    let own = verb
        .get_arguments()
        .filter(|a| !a.is_global_set() && !["help", "version"].contains(&a.get_id().as_str()));
    for argument in own {
        let name = match (argument.get_long(), argument.get_value_names()) {
            (Some(long), Some(values)) if argument.get_action().takes_values() => {
                format!("--{long} {}", values.join(" "))
            }
            (Some(long), _) => format!("--{long}"),
            (None, Some(values)) => values.join(" "),
            (None, None) => argument.get_id().to_string(),
        };
        entry.push_str(&format!(
            ".br\n\\fB{}\\fR: {}\n",
            roff(&name),
            about(argument.get_help())
        ));
    }
    entry
}

/// Makes text harmless for a typesetter: no escapes, no requests, hyphens that can be copied.
fn roff(text: &str) -> String {
    text.replace('\\', "\\e")
        .replace('-', "\\-")
        .lines()
        .map(|line| {
            if line.starts_with(['.', '\'']) {
                format!("\\&{line}")
            } else {
                line.to_owned()
            }
        })
        .collect::<Vec<_>>()
        .join("\n")
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_a_text_is_a_request() {
        assert_eq!(roff(".so x\n'a -b \\c"), "\\&.so x\n\\&'a \\-b \\ec");
    }

    /// Every verb of the help is known to every shell and to the manual.
    #[test]
    fn every_verb_is_offered() {
        let mut texts: Vec<String> = Known::value_variants().iter().map(|s| script(*s)).collect();
        texts.push(page().unwrap());
        let command = Cli::command();
        let verbs: Vec<&str> = command.get_subcommands().map(|c| c.get_name()).collect();
        assert!(verbs.len() > 8, "{verbs:?}");
        for verb in verbs {
            for text in &texts {
                assert!(text.contains(verb), "{verb}");
            }
        }
    }
}
