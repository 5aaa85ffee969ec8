//! What a link is, and which page answers it.

use crate::form::Form;
use crate::page::Page;
use crate::words::Notice;
use crate::{items, unsubscribing};
use chrono::{DateTime, Utc};
use clerk::linked::Link;
use clerk::replies::Topic;
use clerk::{ActError, Clerk};
use letters::links::{
    ITEM_LINK_HOLDS, LinkError, LinkFacts, LinkKey, Purpose, UNSUBSCRIBE_LINK_HOLDS, button, is_button,
    verify,
};
use letters::{About, Language};
use std::sync::Arc;
use tokio::runtime::Handle;

/// What all pages share.
pub struct Desk {
    clerk: Clerk,
    keys: Vec<LinkKey>,
    runtime: Handle,
}

/// What is asked for.
#[derive(Debug)]
pub struct Asked {
    /// The token in the address.
    pub token: String,
    /// The language to answer in as long as the person is not known.
    pub language: Language,
    /// Whether something was posted.
    pub press: Press,
}

/// What was posted.
#[derive(Debug)]
pub enum Press {
    /// Nothing: the page is only looked at.
    None,
    /// A form.
    Form(Form),
}

/// A link that holds, and what was posted to it.
pub struct Opened {
    /// Whose it is.
    pub link: Link,
    /// Until when it holds.
    pub good_until: DateTime<Utc>,
    /// What the button on its page says.
    pub button: String,
    /// What was posted.
    pub pressed: Pressed,
}

/// What a post amounts to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pressed {
    /// Nothing was posted.
    Nothing,
    /// Something, but not by the button of the page.
    Blindly,
    /// The one click of a mail program.
    OneClick,
    /// The button, with this form.
    Button(Form),
}

impl Desk {
    /// A desk on the runtime at hand.
    pub fn new(clerk: Clerk, keys: Vec<LinkKey>) -> Self {
        Self { clerk, keys, runtime: Handle::current() }
    }

    /// The runtime that does the work.
    pub const fn runtime(&self) -> &Handle {
        &self.runtime
    }

    /// Who acts.
    pub const fn clerk(&self) -> &Clerk {
        &self.clerk
    }

    /// The page that answers; a press has then been made.
    pub async fn page(self: Arc<Self>, asked: Asked) -> Page {
        let language = asked.language;
        match self.try_page(asked).await {
            Ok(page) => page,
            Err(ActError::NotFound { .. }) => Notice::Unknown.page(language),
            Err(ActError::Unavailable(error)) => {
                tracing::warn!(error = &error as &dyn std::error::Error, "the store is not available");
                Notice::Busy.page(language)
            }
            Err(ActError::Raced(_) | ActError::Stale) => Notice::Busy.page(language),
            Err(error) => {
                tracing::error!(error = &error as &dyn std::error::Error, "a page cannot be made");
                Notice::Fault.page(language)
            }
        }
    }

    async fn try_page(&self, asked: Asked) -> Result<Page, ActError> {
        let Asked { token, language, press } = asked;
        let (facts, key) = match self.read(&token) {
            Ok(read) => read,
            Err(LinkError::Expired(_)) => return Ok(Notice::RanOut.page(language)),
            Err(_) => return Ok(Notice::Unknown.page(language)),
        };
        let pressed = match press {
            Press::None => Pressed::Nothing,
            Press::Form(form) if form.is_one_click() => Pressed::OneClick,
            Press::Form(form) => match form.get("button") {
                Some(said) if is_button(said, &token, key) => Pressed::Button(form),
                _ => Pressed::Blindly,
            },
        };
        let button = button(&token, key);
        let opened = |holds| Opened {
            link: Link { fleet: facts.fleet, person: facts.person, issued_at: facts.expires_at - holds },
            good_until: facts.expires_at,
            button,
            pressed,
        };
        match facts.purpose {
            Purpose::Acknowledge(about) => {
                items::acknowledge(self, opened(ITEM_LINK_HOLDS), topic(about)).await
            }
            Purpose::Postpone(about) => items::postpone(self, opened(ITEM_LINK_HOLDS), topic(about)).await,
            Purpose::Unsubscribe(letter) => {
                unsubscribing::page(self, opened(UNSUBSCRIBE_LINK_HOLDS), letter).await
            }
            // No letter carries such links.
            Purpose::See(_) | Purpose::SignIn => Ok(Notice::Unknown.page(language)),
        }
    }

    /// What a token says, and the key it was signed with.
    fn read(&self, token: &str) -> Result<(LinkFacts, &LinkKey), LinkError> {
        let now = self.clerk.now();
        let read = |key| match verify(token, key, now) {
            Err(LinkError::Forged) => None,
            read => Some(read.map(|facts| (facts, key))),
        };
        self.keys.iter().find_map(read).unwrap_or(Err(LinkError::Forged))
    }
}

fn topic(about: About) -> Topic {
    let About { vehicle, item, cycle } = about;
    Topic { vehicle, item, cycle }
}
