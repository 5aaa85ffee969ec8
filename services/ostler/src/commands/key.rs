//! `ostler key`: makes an access key and shows it once.

use super::{choose_fleet, open};
use crate::edge;
use crate::settings::Settings;
use anyhow::bail;
use clerk::keys::NewKey;
use model::{KeyKind, Scope};

/// What `ostler key` takes.
#[derive(clap::Args)]
pub struct KeyArguments {
    /// What it is for.
    label: String,
    /// The fleet, by id or name; may be left out if there is only one.
    #[arg(long)]
    fleet: Option<String>,
    /// What it may do: read, measure, report, manage, admin; several separated by commas.
    #[arg(long, default_value = "read", value_delimiter = ',')]
    scopes: Vec<String>,
    /// What holds it: person, device or script.
    #[arg(long, default_value = "script")]
    kind: String,
}

/// Makes the key and prints it.
pub async fn run(settings: &Settings, arguments: KeyArguments) -> anyhow::Result<()> {
    let scopes: Vec<Scope> = arguments.scopes.iter().filter_map(|word| Scope::from_word(word)).collect();
    if scopes.len() < arguments.scopes.len() {
        bail!("--scopes: each is one of {}", words(Scope::ALL));
    }
    let Some(kind) = KeyKind::from_word(&arguments.kind) else {
        bail!("--kind: one of {}", words(KeyKind::ALL));
    };
    let (clerk, _place) = open(settings).await?;
    let fleet = choose_fleet(&clerk, arguments.fleet.as_deref()).await?;
    let mut act = clerk.begin(fleet, &edge::operator("cli"), "key", None).await?;
    let new = NewKey { kind, person: None, vehicle: None, label: arguments.label, scopes, expires_at: None };
    let (_, text) = clerk::keys::create_key(&mut act, new).await?;
    act.commit().await?;
    println!("{text}");
    Ok(())
}

fn words<T: std::fmt::Display>(all: &[T]) -> String {
    all.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
