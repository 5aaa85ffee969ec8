//! The message files: complete, alike, and all used.

use fluent_syntax::ast::{CallArguments, Entry, Expression, InlineExpression, Pattern, PatternElement};
use letters::Language;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

type Arguments = BTreeMap<String, BTreeSet<String>>;

fn room() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The arguments of each message in the file of a language, as the syntax crate reads it.
fn messages(language: Language) -> Arguments {
    let path = room().join(format!("messages/{}.ftl", language.tag()));
    let text = fs::read_to_string(&path).expect("a file of messages");
    let resource = fluent_syntax::parser::parse(text.as_str()).expect("no mistakes in the file");
    let mut messages = Arguments::new();
    for entry in &resource.body {
        match entry {
            Entry::Message(message) => {
                let mut arguments = BTreeSet::new();
                collect(message.value.as_ref().expect("a value"), &mut arguments);
                let before = messages.insert(message.id.name.to_owned(), arguments);
                assert_eq!(before, None, "{} is there twice", message.id.name);
            }
            Entry::Comment(_) | Entry::GroupComment(_) | Entry::ResourceComment(_) => {}
            other => panic!("neither message nor comment: {other:?}"),
        }
    }
    messages
}

fn collect(pattern: &Pattern<&str>, arguments: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        let PatternElement::Placeable { expression } = element else { continue };
        match expression {
            Expression::Inline(inline) => collect_inline(inline, arguments),
            Expression::Select { selector, variants } => {
                collect_inline(selector, arguments);
                for variant in variants {
                    collect(&variant.value, arguments);
                }
            }
        }
    }
}

fn collect_inline(inline: &InlineExpression<&str>, arguments: &mut BTreeSet<String>) {
    match inline {
        InlineExpression::VariableReference { id } => {
            arguments.insert(id.name.to_owned());
        }
        InlineExpression::FunctionReference { arguments: CallArguments { positional, .. }, .. } => {
            for inline in positional {
                collect_inline(inline, arguments);
            }
        }
        _ => {}
    }
}

/// The sources of the room as one text.
fn sources() -> String {
    let mut open = vec![room().join("src")];
    let mut text = String::new();
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(folder).expect("a folder").flatten() {
            if entry.path().is_dir() {
                open.push(entry.path());
            } else {
                text += &fs::read_to_string(entry.path()).expect("a source file");
            }
        }
    }
    text
}

#[test]
fn every_message_exists_in_every_language_with_the_same_arguments() {
    let british = messages(Language::British);
    assert!(british.len() > 50, "{}", british.len());
    for language in Language::ALL {
        assert_eq!(messages(language), british, "{}", language.tag());
    }
}

#[test]
fn every_message_is_said_somewhere() {
    let sources = sources();
    let british = messages(Language::British);
    let unsaid: Vec<&String> = british.keys().filter(|id| !sources.contains(&format!("\"{id}\""))).collect();
    assert_eq!(unsaid, Vec::<&String>::new());
}

#[test]
fn every_message_said_is_in_the_files_and_gets_its_arguments() {
    let british = messages(Language::British);
    let sources = sources();
    let mut said = 0;
    for call in sources.split(".say(\"").skip(1) {
        let (id, rest) = call.split_once('"').expect("an id");
        let arguments = british.get(id).unwrap_or_else(|| panic!("no message {id}"));
        said += usize::from(rest.starts_with(", [])"));
        assert!(!rest.starts_with(", [])") || arguments.is_empty(), "{id} wants {arguments:?}");
    }
    assert!(said > 5);
}
