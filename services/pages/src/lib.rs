//! The pages a person looks at, rendered on the server: for now those that the links in letters lead to.
//!
//! A page of a link shows what would be done, for which vehicle, and by whom, and has a button. Only the button acts: what
//! a mail scanner fetches, or posts without what the button says, changes nothing. Words come from `messages/` by the
//! machinery of `letters`, looks from `look/`, and whatever is done is an act of `clerk`.
//!
//! No page names the program's own address: links, forms and the stylesheet are relative, so that neither `Host` nor
//! `Forwarded` can send anybody elsewhere.

mod answer;
mod desk;
mod form;
mod items;
mod page;
mod unsubscribing;
mod words;

pub use letters::links::LinkKey;

use actix_web::web::{self, Data, ServiceConfig};
use clerk::Clerk;
use desk::Desk;

/// The pages of one installation.
#[derive(Clone)]
pub struct Pages(Data<Desk>);

impl Pages {
    /// Pages that act through `clerk`, on the runtime at hand. Links signed with any of `keys` are honoured: the present
    /// key comes first, then those before it that still hold.
    pub fn new(clerk: Clerk, keys: Vec<LinkKey>) -> Self {
        Self(Data::new(Desk::new(clerk, keys)))
    }

    /// Puts the pages in their places.
    pub fn configure(&self, config: &mut ServiceConfig) {
        config
            .app_data(self.0.clone())
            .service(web::resource("/links/look.css").to(answer::look))
            .service(web::resource("/links/{token:[^/]*}").to(answer::answer));
    }
}
