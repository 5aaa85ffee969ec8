//! The two macros that define types of the interface: [`request!`] what a client writes, [`answer!`] what it reads.

/// Defines a type that a client writes: the struct, its schema, and how it is read with every fault found.
///
/// Each member has a line of documentation and, where the type's own example will not do, `= example`. A function
/// after `checked by` sees the whole value when all members could be read, and may tell the reader more faults.
macro_rules! request {
    ($(#[doc = $about:literal])+ $name:ident {
        $($(#[doc = $says:literal])+ $member:ident: $type:ty $(= $example:tt)?),* $(,)?
    } $(checked by $check:path)?) => {
        $(#[doc = $about])+
        #[derive(Debug, Clone, PartialEq)]
        pub struct $name { $($(#[doc = $says])+ pub $member: $type),* }

        impl $crate::shape::Object for $name {
            const NAME: &'static str = stringify!($name);
            const ABOUT: &'static str = concat!($($about),+);

            fn members(schemas: &mut $crate::shape::Schemas) -> Vec<$crate::shape::Member> {
                let _ = &schemas;
                vec![$($crate::define::member!(
                    schemas, $member, concat!($($says),+), $type,
                    !<$type as $crate::reader::Written>::MAY_BE_ABSENT $(, $example)?
                )),*]
            }
        }

        impl $crate::shape::Shape for $name {
            fn schema(schemas: &mut $crate::shape::Schemas) -> utoipa::openapi::RefOr<utoipa::openapi::Schema> {
                $crate::shape::closed_object::<Self>(schemas)
            }

            fn example() -> serde_json::Value {
                $crate::define::example::<Self>()
            }
        }

        impl $crate::reader::Written for $name {
            fn read(value: &serde_json::Value, reader: &mut $crate::reader::Reader) -> Option<Self> {
                let members = reader.object(value, &[$(stringify!($member)),*])?;
                let _ = &members;
                $(let $member = reader.member::<$type>(members, stringify!($member));)*
                let read = Self { $($member: $member?),* };
                $($check(&read, reader);)?
                Some(read)
            }
        }
    };
}

/// Defines a type that a client reads: the struct, how it is written as JSON, and its schema.
macro_rules! answer {
    ($(#[doc = $about:literal])+ $name:ident {
        $($(#[doc = $says:literal])+ $member:ident: $type:ty $(= $example:tt)?),+ $(,)?
    }) => {
        $(#[doc = $about])+
        #[derive(Debug, Clone, PartialEq, serde::Serialize)]
        pub struct $name { $($(#[doc = $says])+ pub $member: $type),+ }

        impl $crate::shape::Object for $name {
            const NAME: &'static str = stringify!($name);
            const ABOUT: &'static str = concat!($($about),+);

            fn members(schemas: &mut $crate::shape::Schemas) -> Vec<$crate::shape::Member> {
                vec![$($crate::define::member!(
                    schemas, $member, concat!($($says),+), $type, true $(, $example)?
                )),+]
            }
        }

        impl $crate::shape::Shape for $name {
            fn schema(schemas: &mut $crate::shape::Schemas) -> utoipa::openapi::RefOr<utoipa::openapi::Schema> {
                $crate::shape::open_object::<Self>(schemas)
            }

            fn example() -> serde_json::Value {
                $crate::define::example::<Self>()
            }
        }
    };
}

/// One member of an object, for the two macros above.
macro_rules! member {
    ($schemas:ident, $name:ident, $says:expr, $type:ty, $required:expr) => {
        $crate::shape::Member {
            example: <$type as $crate::shape::Shape>::example(),
            ..$crate::define::member!($schemas, $name, $says, $type, $required, null)
        }
    };
    ($schemas:ident, $name:ident, $says:expr, $type:ty, $required:expr, $example:tt) => {
        $crate::shape::Member {
            name: $crate::define::plain_name(stringify!($name)),
            says: $crate::shape::words($says),
            required: $required,
            schema: <$type as $crate::shape::Shape>::schema($schemas),
            example: serde_json::json!($example),
        }
    };
}

pub(crate) use {answer, member, request};

/// A member's name as it stands in JSON: without the mark of a raw identifier.
pub(crate) fn plain_name(name: &'static str) -> &'static str {
    name.strip_prefix("r#").unwrap_or(name)
}

/// The example of an object, made of its members' examples.
pub(crate) fn example<T: crate::shape::Object>() -> serde_json::Value {
    crate::shape::example_of(&T::members(&mut crate::shape::Schemas::default()))
}
