//! The rubrics that ship with the program, held against what is known from outside: the law's classes, the trade's limits,
//! how cars of different decades are built, and plain prose.

#![allow(clippy::panic, clippy::type_complexity)]

mod facts;
mod layouts;
mod prose;
mod walk;
