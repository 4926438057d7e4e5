//! Whole commands: a command line, what it prints, its files and its status.

mod broken_input;
mod built;
mod check;
mod check_depth;
mod check_findings;
mod compare;
mod demo;
mod design;
mod files;
mod help;
mod improve;
mod mistakes;
mod pad;
mod pad_findings;
mod pad_mistakes;
mod page_at_hand;
mod page_computes;
mod page_controls;
mod page_follows;
mod process;
mod readme;
mod report;
mod report_shown;
mod snap;
mod sweep;
mod sweep_cases;
