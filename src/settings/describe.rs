//! Settings that know their own description.
//!
//! A section of the shop file is a plain struct. Wrapped in [`described!`], its
//! doc comments serve three times: as documentation, as the comments `fretgrin
//! shop new` writes, and (by the field names) as the list of keys the reader
//! knows. One text, so none of the three can drift from the others. By its fields
//! it also knows its lengths ([`super::pin`]).

/// One key of a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// The key as written in the shop file.
    pub name: &'static str,
    /// What it means, with the source of its default: the field's doc comment.
    pub about: &'static str,
}

/// A section of the shop file that can list its keys.
pub trait Described {
    /// What the section is for: the struct's doc comment.
    const ABOUT: &'static str;
    /// The keys, in the order they are written.
    const FIELDS: &'static [Field];
}

/// Defines a section of the shop file and implements [`Described`] and
/// [`Pin`](super::pin::Pin) for it.
/// The struct stands as it would without the macro; every field has a doc
/// comment and at most one `#[serde(…)]` attribute, which comes last.
macro_rules! described {
    (
        $(#[doc = $about:literal])*
        #[derive($($derive:tt)*)]
        $(#[serde($($outer:tt)*)])?
        pub struct $name:ident {
            $(
                $(#[doc = $doc:literal])*
                $(#[serde($($inner:tt)*)])?
                pub $field:ident: $type:ty,
            )*
        }
    ) => {
        $(#[doc = $about])*
        #[derive($($derive)*)]
        $(#[serde($($outer)*)])?
        pub struct $name {
            $(
                $(#[doc = $doc])*
                $(#[serde($($inner)*)])?
                pub $field: $type,
            )*
        }

        impl $crate::settings::describe::Described for $name {
            const ABOUT: &'static str = concat!($($about, "\n"),*);
            const FIELDS: &'static [$crate::settings::describe::Field] = &[
                $($crate::settings::describe::Field {
                    name: stringify!($field),
                    about: concat!($($doc, "\n"),*),
                },)*
            ];
        }

        impl $crate::settings::pin::Pin for $name {
            fn pin(&mut self, unit: $crate::units::Unit) {
                $($crate::settings::pin::Pin::pin(&mut self.$field, unit);)*
            }
        }
    };
}
pub(crate) use described;
