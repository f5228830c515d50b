//! The page of the desk in a real browser: under hands, with other writers, on any screen, and from
//! outside.

mod attacks;
mod begin;
mod current;
mod further;
mod hands;
mod latency;
mod pieces;
mod running;
mod screens;
mod writers;
