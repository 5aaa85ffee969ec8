//! An operation: method, path, scope, what it takes and gives, and the handler. Said once, used by the router, the
//! check of scopes and the OpenAPI document alike.

use super::body::Media;
use super::call::{Call, Outcome};
use actix_web::http::Method;
use contract::{Member, Object, Page, Schemas, Shape, Written};
use futures_util::future::BoxFuture;
use model::Scope;
use serde_json::Value;
use utoipa::openapi::{RefOr, Schema};

/// Where the things of a fleet are.
pub const FLEET: &str = "/v1/fleets/{fleet}";

type Handler = Box<dyn Fn(Call) -> BoxFuture<'static, Outcome> + Send + Sync>;

/// An operation of the interface.
pub struct Operation {
    /// Its name in the document, in the record of acts and in refusals.
    pub id: &'static str,
    /// The method.
    pub method: Method,
    /// The path with names of parameters in braces.
    pub path: String,
    /// The scope a key must bear.
    pub scope: Scope,
    /// What it does, in a few words.
    pub summary: &'static str,
    /// What it does, in sentences.
    pub about: &'static str,
    /// The group it stands in.
    pub group: &'static str,
    /// The parameters of its query, those of paging apart.
    pub query: Option<fn(&mut Schemas) -> Vec<Member>>,
    /// Whether it takes `limit` and `cursor`.
    pub paged: bool,
    /// The body it takes.
    pub takes: Option<Takes>,
    /// Whether it needs an `Idempotency-Key`.
    pub keyed: bool,
    /// Whether it needs an `If-Match`.
    pub versioned: bool,
    /// What it answers when it is done.
    pub gives: Gives,
    handler: Option<Handler>,
}

/// The body an operation takes.
pub struct Takes {
    /// Of which type.
    pub media: Media,
    /// What it looks like.
    pub form: Form,
}

/// What a body looks like.
#[derive(Clone, Copy)]
pub struct Form {
    /// Its schema.
    pub schema: fn(&mut Schemas) -> RefOr<Schema>,
    /// An example.
    pub example: fn() -> Value,
}

impl Form {
    fn of<T: Shape>() -> Self {
        Self { schema: T::schema, example: T::example }
    }
}

/// What an operation answers when it is done.
pub struct Gives {
    /// The status.
    pub status: u16,
    /// The body, if there is one.
    pub form: Option<Form>,
    /// Whether there is an `ETag`.
    pub tagged: bool,
    /// Whether there is a `Location`.
    pub located: bool,
}

impl Operation {
    fn new(method: Method, scope: Scope, id: &'static str, path: &str, gives: Gives) -> Self {
        Self {
            id,
            method,
            path: format!("{FLEET}{path}"),
            scope,
            summary: "",
            about: "",
            group: "",
            query: None,
            paged: false,
            takes: None,
            keyed: false,
            versioned: false,
            gives,
            handler: None,
        }
    }

    /// `GET` of a list of `T`, page by page.
    pub fn list<T: Shape>(scope: Scope, id: &'static str, path: &str) -> Self {
        let form = Some(Form::of::<Page<T>>());
        let gives = Gives { status: 200, form, tagged: true, located: false };
        Self { paged: true, ..Self::new(Method::GET, scope, id, path, gives) }
    }

    /// `GET` of one `T`.
    pub fn get<T: Shape>(scope: Scope, id: &'static str, path: &str) -> Self {
        let gives = Gives { status: 200, form: Some(Form::of::<T>()), tagged: true, located: false };
        Self::new(Method::GET, scope, id, path, gives)
    }

    /// `POST` of a `W` that makes a `T`.
    pub fn create<W: Written, T: Shape>(scope: Scope, id: &'static str, path: &str) -> Self {
        let gives = Gives { status: 201, form: Some(Form::of::<T>()), tagged: true, located: true };
        let takes = Some(Takes { media: Media::Json, form: Form::of::<W>() });
        Self { takes, keyed: true, ..Self::new(Method::POST, scope, id, path, gives) }
    }

    /// `POST` of a `W` that does something to what is there already, and gives a `T`.
    pub fn act<W: Written, T: Shape>(scope: Scope, id: &'static str, path: &str) -> Self {
        let gives = Gives { status: 200, form: Some(Form::of::<T>()), tagged: false, located: false };
        let takes = Some(Takes { media: Media::Json, form: Form::of::<W>() });
        Self { takes, keyed: true, ..Self::new(Method::POST, scope, id, path, gives) }
    }

    /// `PATCH` of something with a version.
    pub fn change<W: Written, T: Shape>(scope: Scope, id: &'static str, path: &str) -> Self {
        let gives = Gives { status: 200, form: Some(Form::of::<T>()), tagged: true, located: false };
        let takes = Some(Takes { media: Media::MergePatch, form: Form::of::<W>() });
        Self { takes, versioned: true, ..Self::new(Method::PATCH, scope, id, path, gives) }
    }

    /// `POST …:withdraw`: the fact no longer counts, but stays in the record.
    pub fn withdraw(scope: Scope, id: &'static str, path: &str) -> Self {
        let gives = Gives { status: 204, form: None, tagged: false, located: false };
        Self { keyed: true, versioned: true, ..Self::new(Method::POST, scope, id, path, gives) }
    }

    /// `DELETE` of something.
    pub fn delete(scope: Scope, id: &'static str, path: &str) -> Self {
        let gives = Gives { status: 204, form: None, tagged: false, located: false };
        Self::new(Method::DELETE, scope, id, path, gives)
    }

    /// With words: what it does, short and long.
    pub const fn says(mut self, summary: &'static str, about: &'static str) -> Self {
        self.summary = summary;
        self.about = about;
        self
    }

    /// With parameters in its query.
    pub fn filtered<Q: Object>(mut self) -> Self {
        self.query = Some(Q::members);
        self
    }

    /// Only with an `If-Match` that names the version.
    pub const fn versioned(mut self) -> Self {
        self.versioned = true;
        self
    }

    /// With another status when it is done.
    pub const fn giving(mut self, status: u16) -> Self {
        self.gives.status = status;
        self
    }

    /// With the handler that does it.
    pub fn does<F, Fut>(mut self, handler: F) -> Self
    where
        F: Fn(Call) -> Fut + Send + Sync + 'static,
        Fut: Future<Output = Outcome> + Send + 'static,
    {
        self.handler = Some(Box::new(move |call| Box::pin(handler(call))));
        self
    }

    /// In a group of the document.
    pub const fn under(mut self, group: &'static str) -> Self {
        self.group = group;
        self
    }

    /// Does it; `None` if it was given no handler, which a test rules out.
    pub fn run(&self, call: Call) -> Option<BoxFuture<'static, Outcome>> {
        self.handler.as_ref().map(|handler| handler(call))
    }

    /// Names of the parameters in its path.
    pub fn path_parameters(&self) -> impl Iterator<Item = &str> {
        self.path.split('{').skip(1).filter_map(|rest| rest.split_once('}').map(|(name, _)| name))
    }
}

/// Operations that stand in one group of the document.
pub fn group(name: &'static str, operations: Vec<Operation>) -> impl Iterator<Item = Operation> {
    operations.into_iter().map(move |operation| operation.under(name))
}
