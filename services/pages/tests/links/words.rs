//! The message files: complete, alike, and all used.

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

type Arguments = BTreeMap<String, BTreeSet<String>>;

fn room() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn messages(language: &str) -> Arguments {
    let text =
        fs::read_to_string(room().join(format!("messages/{language}.ftl"))).expect("a file of messages");
    let resource = fluent_syntax::parser::parse(text.as_str()).expect("no mistakes in the file");
    let mut messages = Arguments::new();
    for entry in &resource.body {
        let Entry::Message(message) = entry else { continue };
        let mut arguments = BTreeSet::new();
        collect(message.value.as_ref().expect("a value"), &mut arguments);
        let before = messages.insert(message.id.name.to_owned(), arguments);
        assert_eq!(before, None, "{} is there twice", message.id.name);
    }
    messages
}

fn collect(pattern: &Pattern<&str>, arguments: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        let PatternElement::Placeable { expression } = element else { continue };
        let (Expression::Inline(inline) | Expression::Select { selector: inline, .. }) = expression;
        if let InlineExpression::VariableReference { id } = inline {
            arguments.insert(id.name.to_owned());
        }
        if let Expression::Select { variants, .. } = expression {
            for variant in variants {
                collect(&variant.value, arguments);
            }
        }
    }
}

fn sources() -> String {
    let files = fs::read_dir(room().join("src")).expect("a folder").flatten();
    files.map(|file| fs::read_to_string(file.path()).expect("a source file")).collect()
}

#[test]
fn every_message_is_in_both_languages_with_the_same_arguments() {
    let british = messages("en-GB");
    assert!(british.len() > 40, "{}", british.len());
    assert_eq!(messages("en-US"), british);
}

#[test]
fn every_message_is_said_and_every_one_said_is_there() {
    let (british, sources) = (messages("en-GB"), sources());
    let unsaid: Vec<&String> = british.keys().filter(|id| !sources.contains(&format!("\"{id}\""))).collect();
    assert_eq!(unsaid, Vec::<&String>::new());
    let said = sources.split("say(").skip(1).filter_map(|call| {
        let (before, rest) = call.split_once('"')?;
        let id = rest.split('"').next()?;
        (before.len() < 40 && !before.contains(')')).then(|| id.to_owned())
    });
    let missing: Vec<String> = said.filter(|id| !british.contains_key(id)).collect();
    assert_eq!(missing, Vec::<String>::new());
}
