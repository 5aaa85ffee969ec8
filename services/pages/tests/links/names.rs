//! Whatever people typed stands in a page as text (R30).

use crate::story::Story;
use clerk::organisation::{PersonChange, change_person};
use letters::links::Purpose;
use testkit::World;

const ODD: &str = "<script>alert(1)</script>\"' & \u{202e}van\u{202c} \u{200f}x <img src=x onerror=y>";

#[test]
fn every_name_is_escaped_and_turns_nothing_around() {
    testkit::tell(async {
        let world = World::in_store(testkit::sqlite::in_memory().await).await;
        let mut act = world.act().await;
        let change = PersonChange { name: Some(ODD.to_owned()), ..PersonChange::default() };
        change_person(&mut act, world.manager, 1, change).await.expect("changed");
        act.commit().await.expect("committed");
        let story = Story::of(world, ODD).await;
        let oil = story.oil().await;
        for purpose in [Purpose::Acknowledge(oil.clone()), Purpose::Postpone(oil)] {
            let token = story.token(purpose);
            for page in [story.get(&token).await, story.press(&token).await] {
                let html = page.html;
                assert!(!html.contains("<script") && !html.contains("<img"), "{html}");
                assert!(!html.contains('\u{202e}'), "{html}");
                assert_eq!(
                    html.matches("&#60;script&#62;alert(1)&#60;/script&#62;&#34;&#39; &#38; van").count(),
                    2,
                    "{html}"
                );
                assert_eq!(html.matches("<bdi>").count(), html.matches("</bdi>").count());
            }
        }
    });
}

#[test]
fn the_template_switches_escaping_off_nowhere() {
    let template = include_str!("../../templates/page.html");
    for off in ["|safe", "| safe", "escape none", "{% raw", "autoescape"] {
        assert!(!template.contains(off), "{off}");
    }
}
