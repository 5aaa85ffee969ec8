//! R38: whatever a client sends, it is told what is wrong in a problem document, and never that the server failed.

use end_to_end::{Answer, Body, Caller, Document, OneOfEach, Request, Served};
use serde_json::{Value, json};

/// What nobody expects in most places.
fn junk() -> Vec<Value> {
    vec![
        json!(null),
        json!(true),
        json!(-1),
        json!(1e300),
        json!(0.1),
        json!([]),
        json!([[[]]]),
        json!({}),
        json!({"\u{0}": 1}),
        json!(""),
        json!("\u{0}"),
        json!("' OR 1=1 --"),
        json!("9999-12-31T23:59:60Z"),
        json!("2027-02-30"),
        json!("\u{202e}\u{fffd}🚐"),
        json!("x".repeat(5000)),
    ]
}

/// The example of a body with junk in place of each value in turn, the whole body first.
fn spoilt(document: &Document, body: &Body) -> Vec<Value> {
    let places = document.places(&body.example, &body.schema);
    let with = |at: &str, junk: Value| {
        let mut body = body.example.clone();
        *body.pointer_mut(at).expect("a place of the example") = junk;
        body
    };
    places.iter().flat_map(|(at, _)| junk().into_iter().map(move |junk| with(at, junk))).collect()
}

fn no_fault_of_the_server(told: &Answer, sent: &str) {
    assert!(told.status < 500, "{sent}: {}", told.text());
    if told.status >= 400 {
        assert_eq!(told.header("content-type"), "application/problem+json", "{sent}: {}", told.text());
        assert_eq!(told.json()["instance"], told.header("x-request-id"), "{sent}: {}", told.text());
    }
}

async fn furnished(store: store::Store) -> (Served, Caller, OneOfEach, Document) {
    let served = Served::in_store(store).await;
    let us = served.another_fleet("Us").await;
    let (things, document) = (OneOfEach::made(&served, &us, "us").await, Document::of(&us).await);
    (served, us, things, document)
}

testkit::on_both_engines! {
    async fn r38_no_body_makes_the_server_fail(store: Store) {
        let (_served, us, things, document) = furnished(store).await;
        let (mut sent, mut refused) = (0, 0);
        for operation in document.operations() {
            let Some(body) = &operation.body else { continue };
            for spoilt in spoilt(&document, body) {
                let told = us.send(operation.request_with(&things, &spoilt)).await;
                no_fault_of_the_server(&told, &format!("{} {spoilt:.300}", operation.id));
                sent += 1;
                refused += usize::from(told.status == 422);
            }
        }
        assert!(sent > 2000 && refused > sent / 2, "{refused} of {sent} bodies were refused");
    }

    async fn r38_no_address_makes_the_server_fail(store: Store) {
        let (_served, us, things, document) = furnished(store).await;
        let texts = ["%00", "%ff", "x", "%F0%9F%9A%90", "0", "%22", "' OR 1=1", "a%2fb", "-1"];
        let mut sent = 0;
        for operation in document.operations() {
            for kind in operation.parameters() {
                for text in texts {
                    let told = us.send(operation.request(&things.with(kind, text))).await;
                    no_fault_of_the_server(&told, &format!("{} {kind} {text}", operation.id));
                    assert!(
                        (400..500).contains(&told.status),
                        "{} {kind} {text}: {}",
                        operation.id,
                        told.text()
                    );
                    sent += 1;
                }
            }
            for name in &operation.query {
                let place = operation
                    .path
                    .replace("{fleet}", things.id("fleet"))
                    .replace("{vehicle}", things.id("vehicle"));
                for text in texts {
                    let told = us.send(Request::get(&format!("{place}?{name}={text}"))).await;
                    no_fault_of_the_server(&told, &format!("{} ?{name}={text}", operation.id));
                    sent += 1;
                }
            }
        }
        assert!(sent > 900, "{sent} addresses were tried");
    }
}
