//! One integration binary; a module for each behaviour.

mod car_laws;
mod car_wide;
mod cars;
mod command_line;
mod corrosion_tables;
mod crash_safety;
mod decline_calibrated;
mod decline_golden;
mod decline_laws;
mod decline_lines;
mod decline_real;
mod fixings;
mod house;
mod plan_bookings;
mod plan_search;
mod plan_specialists;
mod rubric_files;
mod rubric_library;
mod screens;
mod small_library;
mod steadiness;
mod store_files;
mod terminal;
mod user_rubrics;
mod whole_car;
mod whole_loop;
