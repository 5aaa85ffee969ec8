//! The OpenAPI document, made of the same table that the router is made of.

use crate::http::operation::{Form, Operation};
use contract::{Member, PageAsked, Problem, ProblemKind, Schemas, Shape};
use model::Scope;
use serde_json::json;
use std::collections::BTreeMap;
use std::sync::Arc;
use utoipa::openapi::extensions::ExtensionsBuilder;
use utoipa::openapi::header::HeaderBuilder;
use utoipa::openapi::path::{OperationBuilder, Parameter, ParameterBuilder, ParameterIn, PathItem};
use utoipa::openapi::request_body::RequestBodyBuilder;
use utoipa::openapi::response::ResponseBuilder;
use utoipa::openapi::schema::Type;
use utoipa::openapi::security::{HttpAuthScheme, HttpBuilder, SecurityRequirement, SecurityScheme};
use utoipa::openapi::tag::TagBuilder;
use utoipa::openapi::{
    Components, ComponentsBuilder, ContentBuilder, HttpMethod, InfoBuilder, LicenseBuilder, ObjectBuilder,
    OpenApi, OpenApiBuilder, PathsBuilder, Ref, RefOr, Required, Response, Schema, ServerBuilder,
};

/// What is needed to try every operation with every key: its name, method, path and scope.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OperationOutline {
    /// Its name in the document.
    pub id: &'static str,
    /// The method.
    pub method: String,
    /// The path with names of parameters in braces.
    pub path: String,
    /// The scope a key must bear.
    pub scope: Scope,
}

/// Every operation in outline.
pub fn outline() -> Vec<OperationOutline> {
    let one = |operation: Operation| OperationOutline {
        id: operation.id,
        method: operation.method.to_string(),
        path: operation.path,
        scope: operation.scope,
    };
    crate::routes::operations().map(one).collect()
}

/// The document as JSON.
pub fn text() -> String {
    let operations: Vec<Arc<Operation>> = crate::routes::operations().map(Arc::new).collect();
    text_of(&operations)
}

/// The document of these operations as JSON.
pub fn text_of(operations: &[Arc<Operation>]) -> String {
    // Its maps have text for keys and its numbers are finite: nothing that JSON cannot hold.
    document(operations).to_json().unwrap_or_default()
}

const ABOUT: &str = "Keeps a small fleet of delivery and rideshare cars serviced. \
    Every request brings `Authorization: Bearer` with an access key; a key belongs to one fleet and bears scopes. \
    Every POST brings an `Idempotency-Key` and can be sent again without harm. Every 4xx and 5xx is a problem document \
    (RFC 9457) whose `type` leads to a page of help. Instants are RFC 3339 in UTC; civil dates are read in the zone of \
    the vehicle's depot. Clients ignore members they do not know and treat lists of words as open.";

const GROUPS: [(&str, &str); 7] = [
    ("Places and people", "The fleet, its depots, workshops, people and access keys."),
    ("Vehicles", "The register, and each vehicle's meter log, services, papers and coverage."),
    ("Rules", "Rulebooks, exceptions for one vehicle, and answers to the baseline check."),
    ("Inspections", "Check sheets, a technician's batch, inspections and findings."),
    ("Components", "Parts whose life is followed, and where they were fitted."),
    ("What is coming", "Horizons, due items and coverage windows, and what waits for a person."),
    ("What was told", "Notices and letters."),
];

fn document(operations: &[Arc<Operation>]) -> OpenApi {
    let mut schemas = Schemas::default();
    let mut paths = PathsBuilder::new();
    for operation in operations {
        let method = HttpMethod::clone(&method_of(operation));
        paths = paths.path(operation.path.clone(), PathItem::new(method, described(operation, &mut schemas)));
    }
    for (path, id, about) in OPEN {
        paths = paths.path(path, PathItem::new(HttpMethod::Get, open_operation(id, about)));
    }
    let components = components(schemas);
    let license = LicenseBuilder::new().name("MIT OR Apache-2.0").identifier(Some("MIT OR Apache-2.0"));
    let info = InfoBuilder::new()
        .title("Ostler")
        .version(env!("CARGO_PKG_VERSION"))
        .description(Some(ABOUT))
        .license(Some(license.build()));
    let tags =
        GROUPS.iter().map(|(name, about)| TagBuilder::new().name(*name).description(Some(*about)).build());
    let operation =
        TagBuilder::new().name("Operation").description(Some("Whether the server lives and can work."));
    OpenApiBuilder::new()
        .info(info.build())
        .servers(Some([ServerBuilder::new().url("/").description(Some("This server.")).build()]))
        .paths(paths.build())
        .components(Some(components))
        .tags(Some(tags.chain([operation.build()]).collect::<Vec<_>>()))
        .build()
}

fn method_of(operation: &Operation) -> HttpMethod {
    match operation.method.as_str() {
        "POST" => HttpMethod::Post,
        "PATCH" => HttpMethod::Patch,
        "DELETE" => HttpMethod::Delete,
        _ => HttpMethod::Get,
    }
}

fn described(operation: &Operation, schemas: &mut Schemas) -> utoipa::openapi::path::Operation {
    let scope = operation.scope.word();
    let start = OperationBuilder::new()
        .tag(operation.group)
        .operation_id(Some(operation.id))
        .summary(Some(operation.summary))
        .description(Some(format!("{} Needs the scope `{scope}`.", operation.about)))
        .security(SecurityRequirement::new("bearer", [scope]))
        .extensions(Some(ExtensionsBuilder::new().add("x-scope", scope).build()))
        .request_body(operation.takes.as_ref().map(|takes| {
            let content = content_of(&takes.form, schemas);
            RequestBodyBuilder::new()
                .description(Some("What is to be done."))
                .required(Some(Required::True))
                .content(takes.media.name(), content)
                .build()
        }));
    let with_parameters = parameters(operation, schemas).into_iter().fold(start, OperationBuilder::parameter);
    let done = with_parameters.response(operation.gives.status.to_string(), success(operation, schemas));
    let done = if operation.method == "GET" && operation.gives.tagged {
        done.response("304", ResponseBuilder::new().description("You have it already.").build())
    } else {
        done
    };
    statuses(operation)
        .fold(done, |done, status| {
            done.response(status.to_string(), Ref::from_response_name(name_of(status)))
        })
        .build()
}

fn content_of(form: &Form, schemas: &mut Schemas) -> utoipa::openapi::Content {
    ContentBuilder::new().schema(Some((form.schema)(schemas))).example(Some((form.example)())).build()
}

fn parameters(operation: &Operation, schemas: &mut Schemas) -> Vec<Parameter> {
    let mut all: Vec<Parameter> = operation.path_parameters().map(|name| in_path(name, schemas)).collect();
    let mut query: Vec<Member> = operation.query.map(|members| members(schemas)).unwrap_or_default();
    if operation.paged {
        query.extend(<PageAsked as contract::Object>::members(schemas));
    }
    all.extend(query.into_iter().map(in_query));
    if operation.keyed {
        let about = "Names this request, so that it is done once however often it is sent: a UUID, or 16 to 64 visible \
                     ASCII characters, new for each thing to be done.";
        let schema = string().min_length(Some(16)).max_length(Some(64)).pattern(Some("^[!-~]+$"));
        all.push(in_header("Idempotency-Key", about, schema, "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60", true));
    }
    if operation.versioned {
        let about = "The `ETag` of what you loaded: the change is made only if it is still the same.";
        all.push(in_header(
            "If-Match",
            about,
            string().max_length(Some(200)).pattern(Some("^(W/)?\"[!#-~]*\"$")),
            "\"3\"",
            true,
        ));
    }
    if operation.method == "GET" && operation.gives.tagged {
        let about = "An `ETag` you have: if it is still the same, the answer is 304 without a body.";
        all.push(in_header("If-None-Match", about, string(), "\"3\"", false));
    }
    all
}

fn string() -> ObjectBuilder {
    ObjectBuilder::new().schema_type(Type::String)
}

fn in_path(name: &str, schemas: &mut Schemas) -> Parameter {
    // Nullable or named makes no difference here: what stands in a path is always there.
    let (schema, example) = if name == "check_sheet" {
        (model::Code::schema(schemas), json!("yard-walk"))
    } else {
        (uuid::Uuid::schema(schemas), uuid::Uuid::example())
    };
    let words = name.replace('_', " ");
    let about = if name == "check_sheet" {
        "Code of the check sheet.".to_owned()
    } else {
        format!("Id of the {words}.")
    };
    ParameterBuilder::new()
        .name(name)
        .parameter_in(ParameterIn::Path)
        .required(Required::True)
        .description(Some(about))
        .schema(Some(schema))
        .example(Some(example))
        .build()
}

fn in_query(member: Member) -> Parameter {
    ParameterBuilder::new()
        .name(member.name)
        .parameter_in(ParameterIn::Query)
        .required(if member.required { Required::True } else { Required::False })
        .description(Some(member.says))
        .schema(Some(without_null(member.schema)))
        .example(Some(member.example))
        .build()
}

/// A parameter is left out, never null.
fn without_null(schema: RefOr<Schema>) -> RefOr<Schema> {
    use utoipa::openapi::schema::SchemaType;
    match schema {
        RefOr::T(Schema::Object(mut object)) => {
            if let SchemaType::Array(types) = &object.schema_type
                && let Some(one) = types.iter().find(|one| **one != Type::Null)
            {
                object.schema_type = SchemaType::Type(one.clone());
            }
            RefOr::T(Schema::Object(object))
        }
        RefOr::T(Schema::OneOf(one)) => one.items.last().cloned().unwrap_or_default(),
        other => other,
    }
}

fn in_header(name: &str, about: &str, schema: ObjectBuilder, example: &str, required: bool) -> Parameter {
    ParameterBuilder::new()
        .name(name)
        .parameter_in(ParameterIn::Header)
        .required(if required { Required::True } else { Required::False })
        .description(Some(about))
        .schema(Some(schema))
        .example(Some(json!(example)))
        .build()
}

fn success(operation: &Operation, schemas: &mut Schemas) -> Response {
    let gives = &operation.gives;
    let description = match gives.status {
        201 => "It was made.",
        204 => "It was done.",
        207 => "What became of each part.",
        _ if operation.method == "GET" => "Here it is.",
        _ => "It was done; this is how it stands now.",
    };
    let start = header(ResponseBuilder::new().description(description), "X-Request-Id", "The request's id.");
    let start = match &gives.form {
        Some(form) => start.content("application/json", content_of(form, schemas)),
        None => start,
    };
    let headers = [
        (gives.tagged, "ETag", "Its version, or a hash of the answer."),
        (gives.located, "Location", "Where it is."),
        (operation.paged, "Link", "The next page, with `rel=\"next\"` (RFC 8288)."),
        (
            operation.keyed,
            "Idempotency-Replayed",
            "`true` if this was done before and this is the answer given then.",
        ),
    ];
    headers
        .into_iter()
        .filter(|(there, ..)| *there)
        .fold(start, |response, (_, name, about)| header(response, name, about))
        .build()
}

fn header(response: ResponseBuilder, name: &str, about: &str) -> ResponseBuilder {
    response.header(name, HeaderBuilder::new().description(Some(about)).schema(Some(string())).build())
}

/// Statuses of the problems that an operation may meet.
fn statuses(operation: &Operation) -> impl Iterator<Item = u16> + use<> {
    let takes = operation.takes.is_some();
    let (keyed, versioned) = (operation.keyed, operation.versioned);
    let asks = operation.paged || operation.query.is_some();
    let writes = operation.method != "GET";
    let may_meet = move |kind: &ProblemKind| match kind.status() {
        400 => takes || keyed || versioned,
        408 | 413 | 415 => takes,
        409 => writes,
        412 | 428 => versioned,
        422 => takes || keyed || asks,
        405 => false,
        _ => true,
    };
    let mut statuses: Vec<u16> =
        ProblemKind::ALL.iter().filter(|kind| may_meet(kind)).map(|kind| kind.status()).collect();
    statuses.dedup();
    statuses.into_iter()
}

fn name_of(status: u16) -> String {
    format!("Problem{status}")
}

fn components(mut schemas: Schemas) -> Components {
    let problem = Problem::schema(&mut schemas);
    let mut kinds: BTreeMap<u16, Vec<ProblemKind>> = BTreeMap::new();
    for kind in ProblemKind::ALL {
        kinds.entry(kind.status()).or_default().push(*kind);
    }
    let start = ComponentsBuilder::new().security_scheme(
        "bearer",
        SecurityScheme::Http(
            HttpBuilder::new()
                .scheme(HttpAuthScheme::Bearer)
                .bearer_format("ostler_<kind>_<random>")
                .description(Some(
                    "An access key of the fleet. The words behind the scheme are the scope needed.",
                ))
                .build(),
        ),
    );
    let with_problems = kinds.into_iter().fold(start, |components, (status, kinds)| {
        components.response(name_of(status), problem_response(&problem, &kinds))
    });
    with_problems.schemas_from_iter(schemas.into_map()).build()
}

fn problem_response(schema: &RefOr<Schema>, kinds: &[ProblemKind]) -> Response {
    let about: Vec<String> =
        kinds.iter().map(|kind| format!("{} (`/problems/{}`).", kind.title(), kind.slug())).collect();
    let example = kinds.first().map(|kind| {
        let problem =
            kind.happened(format!("{}.", kind.title()), "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60", Vec::new());
        serde_json::to_value(problem).unwrap_or_default()
    });
    let content = ContentBuilder::new().schema(Some(schema.clone())).example(example).build();
    let response =
        ResponseBuilder::new().description(about.join(" ")).content("application/problem+json", content);
    let response = header(response, "X-Request-Id", "The request's id.");
    let waits = kinds.iter().any(|kind| kind.retry() == contract::Retry::After);
    if waits { header(response, "Retry-After", "Seconds to wait.") } else { response }.build()
}

/// What needs no key.
const OPEN: [(&str, &str, &str); 3] = [
    ("/livez", "is_alive", "Whether the server lives."),
    (
        "/readyz",
        "is_ready",
        "Whether the server can work: it reads from its store. Says how many programs run on it, how many of them are \
     silent, how its clock stands, and whether letters are held until the clocks agree.",
    ),
    ("/v1/openapi.json", "read_document", "This document."),
];

fn open_operation(id: &str, about: &str) -> utoipa::openapi::path::Operation {
    let object = ObjectBuilder::new().schema_type(Type::Object);
    let content = ContentBuilder::new().schema(Some(object)).build();
    let fine = ResponseBuilder::new().description("It is so.").content("application/json", content).build();
    OperationBuilder::new()
        .tag("Operation")
        .operation_id(Some(id))
        .summary(Some(about.trim_end_matches('.')))
        .description(Some(about))
        .securities(Some([]))
        .response("200", fine)
        .response("405", Ref::from_response_name(name_of(405)))
        .response("503", Ref::from_response_name(name_of(503)))
        .build()
}
