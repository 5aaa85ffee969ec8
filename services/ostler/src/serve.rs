//! `ostler serve`: the roles put together and run until told to stop.

use crate::place::{self, Place};
use crate::settings::{MailSettings, Settings};
use crate::{demo, edge};
use anyhow::{Context, bail};
use api::Served;
use clerk::Clerk;
use clerk::beats::Beat;
use courier::settings::{Mail, Secret, Security, SmtpSettings};
use courier::{Courier, Settings as CourierSettings};
use pages::{LinkKey, Pages};
use scheduler::Scheduler;
use serde::Serialize;
use std::io::Write;
use std::net::{SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use tokio::sync::watch::Receiver;

/// What `ostler serve` takes.
#[derive(clap::Args)]
pub struct ServeArguments {
    /// Loads the invented demo fleet into a fresh file and serves it.
    #[arg(long)]
    demo: bool,
    /// Where to listen; port 0 takes a free one.
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<SocketAddr>,
    /// Folder for the database file and the letters.
    #[arg(long, value_name = "FOLDER")]
    data: Option<PathBuf>,
    /// Prints one line of JSON once it answers, for scripts.
    #[arg(long)]
    json: bool,
}

/// Where the demo lies when no folder is named.
const DEMO_FOLDER: &str = "demo-data";

/// What the demo file is called.
const DEMO_FILE: &str = "demo.sqlite";

/// The one line of JSON.
#[derive(Serialize)]
struct Announcement<'a> {
    address: String,
    manager_key: Option<&'a str>,
    technician_key: Option<&'a str>,
    fleet: Option<String>,
    letters: Option<PathBuf>,
}

/// Serves until told to stop, which may be before it has begun to: what was not committed then is undone.
pub async fn run(mut settings: Settings, arguments: ServeArguments) -> anyhow::Result<()> {
    let stopped = edge::told_to_stop()?;
    apply(&mut settings, &arguments)?;
    let ready = tokio::select! {
        biased;
        () = until(stopped.clone()) => return Ok(()),
        ready = Ready::to_serve(&settings, &arguments) => ready?,
    };
    roles(ready.clerk, ready.served, stopped, ready.couriering).await?;
    ready.place.store.close().await;
    Ok(())
}

/// What serving takes, once there is a store to serve from and an address is listened to.
struct Ready {
    place: Place,
    clerk: Clerk,
    served: Served,
    couriering: CourierSettings,
}

impl Ready {
    async fn to_serve(settings: &Settings, arguments: &ServeArguments) -> anyhow::Result<Self> {
        if arguments.demo {
            clear_demo(settings)?;
        }
        let place = place::open(settings).await?;
        let clerk = edge::clerk_over(place.store.clone());
        let demo = if arguments.demo { Some(demo::load(&clerk).await?) } else { None };
        let listener = TcpListener::bind(settings.http.listen)
            .with_context(|| format!("listening on {}", settings.http.listen))?;
        let keys = link_keys(settings, &clerk).await?;
        let pages = Pages::new(clerk.clone(), keys.clone());
        let beside = move |config: &mut _| pages.configure(config);
        let served = api::serve_beside(listener, clerk.clone(), api::Settings::default(), beside)?;
        let base = format!("http://{}", served.address());
        announce(settings, arguments, demo.as_ref(), &base)?;
        let mut couriering = courier_settings(&settings.mail, served.address())?;
        couriering.link_key = keys.into_iter().next();
        Ok(Self { place, clerk, served, couriering })
    }
}

fn apply(settings: &mut Settings, arguments: &ServeArguments) -> anyhow::Result<()> {
    if let Some(listen) = arguments.listen {
        settings.http.listen = listen;
    }
    let folder = arguments.data.clone().or_else(|| arguments.demo.then(|| PathBuf::from(DEMO_FOLDER)));
    if let Some(folder) = folder {
        let file = if arguments.demo { DEMO_FILE } else { "ostler.sqlite" };
        let path = folder.join(file);
        let path = path.to_str().context("the data folder's name is not valid text")?;
        settings.store.address = format!("sqlite:{path}");
        settings.mail.folder = folder.join("letters");
    }
    if arguments.demo && !settings.http.listen.ip().is_loopback() {
        bail!("the demo serves on this machine only: --listen 127.0.0.1:PORT");
    }
    Ok(())
}

/// Removes what an earlier demo left: its own file and letters, nothing else in the folder.
fn clear_demo(settings: &Settings) -> anyhow::Result<()> {
    let path = settings.store.address.trim_start_matches("sqlite:");
    let _lock = if Path::new(path).exists() { Some(crate::lock::take(Path::new(path))?) } else { None };
    for suffix in ["", "-wal", "-shm"] {
        remove_if_there(Path::new(&format!("{path}{suffix}")))?;
    }
    if let Ok(letters) = std::fs::read_dir(&settings.mail.folder) {
        for letter in letters.flatten().filter(|entry| entry.path().extension().is_some_and(|e| e == "eml")) {
            remove_if_there(&letter.path())?;
        }
    }
    Ok(())
}

fn remove_if_there(path: &Path) -> anyhow::Result<()> {
    match std::fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(error).with_context(|| format!("removing {}", path.display()))
        }
        _ => Ok(()),
    }
}

fn announce(
    settings: &Settings,
    arguments: &ServeArguments,
    demo: Option<&demo::Demo>,
    base: &str,
) -> anyhow::Result<()> {
    let letters = settings.mail.host.is_none().then(|| settings.mail.folder.clone());
    if let Some(demo) = demo {
        keep_demo_keys(settings, demo, base)?;
    }
    let mut out = std::io::stdout().lock();
    if arguments.json {
        let line = Announcement {
            address: base.to_owned(),
            manager_key: demo.map(|demo| demo.manager_key.as_str()),
            technician_key: demo.map(|demo| demo.technician_key.as_str()),
            fleet: demo.map(|demo| demo.fleet.to_string()),
            letters,
        };
        writeln!(out, "{}", serde_json::to_string(&line)?)?;
    } else {
        writeln!(out, "Ostler answers at {base} (documentation: {base}/docs)")?;
        if let Some(demo) = demo {
            writeln!(out, "fleet           {}", demo.fleet)?;
            writeln!(out, "manager's key   {}", demo.manager_key)?;
            writeln!(out, "technician's key {}", demo.technician_key)?;
        }
        if let Some(folder) = letters {
            writeln!(out, "letters land in {}", folder.display())?;
        }
    }
    Ok(out.flush()?)
}

/// Writes address, fleet and keys into `demo.env` beside the demo file, for nobody else's eyes.
fn keep_demo_keys(settings: &Settings, demo: &demo::Demo, base: &str) -> anyhow::Result<()> {
    use std::os::unix::fs::OpenOptionsExt;
    let file = Path::new(settings.store.address.trim_start_matches("sqlite:"));
    let path = file.with_file_name("demo.env");
    remove_if_there(&path)?;
    let mut options = std::fs::OpenOptions::new();
    let mut out = options
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(&path)
        .with_context(|| format!("writing {}", path.display()))?;
    writeln!(out, "OSTLER={base}\nFLEET={}", demo.fleet)?;
    writeln!(out, "MANAGER_KEY={}\nTECHNICIAN_KEY={}", demo.manager_key, demo.technician_key)?;
    writeln!(out, "LETTERS={}", settings.mail.folder.display())?;
    Ok(())
}

/// Runs API, scheduler and courier until told to stop; each ends its step before it goes.
async fn roles(
    clerk: Clerk,
    served: Served,
    stopped: Receiver<bool>,
    couriering: CourierSettings,
) -> anyhow::Result<()> {
    let courier = Courier::new(clerk.clone(), couriering)?;
    let beat = Beat::new(clerk.clone(), env!("CARGO_PKG_VERSION"));
    let told = until(stopped.clone());
    let beating = tokio::spawn(async move { beat.run(told).await });
    let (hearer, told) = (clerk.clone(), until(stopped.clone()));
    let hearing = tokio::spawn(async move { hearer.hear_others(told).await });
    let scheduler = Scheduler::new(clerk);
    let told = until(stopped.clone());
    let scheduling = tokio::spawn(async move { scheduler.run(told).await });
    let told = until(stopped.clone());
    let couriering = tokio::spawn(async move { courier.run(told).await });
    let brake = served.stopper();
    tokio::spawn(async move {
        until(stopped).await;
        brake.stop().await;
    });
    served.run().await.context("serving")?;
    scheduling.await.context("the scheduler")?;
    couriering.await.context("the courier")?;
    beating.await.context("the beat")?;
    hearing.await.context("hearing other replicas")?;
    Ok(())
}

/// Waits until told to stop. That nobody can tell any more means the same.
async fn until(mut stopped: Receiver<bool>) {
    let _ = stopped.wait_for(|stop| *stop).await;
}

/// What links are signed with: the keys that are set, or the one kept in the store.
async fn link_keys(settings: &Settings, clerk: &Clerk) -> anyhow::Result<Vec<LinkKey>> {
    let secrets = settings.links.secrets()?;
    if !secrets.is_empty() {
        return Ok(secrets.iter().map(|secret| LinkKey::of_text(secret)).collect());
    }
    let kept = clerk.link_secret().await.context("reading the key of links from the store")?;
    Ok(vec![LinkKey::new(kept)])
}

/// Where links in letters lead: to the base address that is set or, as long as only this machine is listened to, there.
/// An address that others could not reach is put into no letter.
fn base_url(mail: &MailSettings, listening: SocketAddr) -> Option<String> {
    let here = listening.ip().is_loopback().then(|| format!("http://{listening}"));
    let base_url = mail.base_url.clone().or(here);
    if base_url.is_none() {
        tracing::warn!("mail.base_url is not set: letters have no links");
    }
    base_url
}

fn courier_settings(mail: &MailSettings, listening: SocketAddr) -> anyhow::Result<CourierSettings> {
    let carrier = match &mail.host {
        None => Mail::Folder(mail.folder.clone()),
        Some(host) => Mail::Smtp(smtp_settings(mail, host)?),
    };
    let mut settings = CourierSettings::new(carrier, mail.from.clone());
    settings.base_url = base_url(mail, listening);
    Ok(settings)
}

fn smtp_settings(mail: &MailSettings, host: &str) -> anyhow::Result<SmtpSettings> {
    let mut smtp = SmtpSettings::new(host);
    smtp.port = mail.port;
    smtp.security = match mail.security.as_str() {
        "tls" => Security::Tls,
        "plain" => Security::PlainForLoopbackOnly,
        _ => Security::StartTls,
    };
    smtp.credentials = match (&mail.user, mail.secret()?) {
        (Some(user), Some(password)) => Some((user.clone(), Secret::new(password))),
        _ => None,
    };
    smtp.ca_file.clone_from(&mail.ca_file);
    Ok(smtp)
}
