// The program's commands. Each adds itself to the command line and runs when it was named.
#pragma once

#include <CLI/CLI.hpp>

namespace circumfluence::program {

// Exit codes, also documented in docs/program.md.
enum Exit { done = 0, usage = 2, bad_job = 3, bad_file = 4, beyond_model = 5, interrupted = 130 };

void add_predict(CLI::App& app);
void add_check(CLI::App& app);
void add_materials(CLI::App& app);
void add_look(CLI::App& app);
void add_window(CLI::App& app);
void add_width(CLI::App& app);
void add_focus(CLI::App& app);
void add_art(CLI::App& app);
void add_sheet(CLI::App& app);
void add_rotary(CLI::App& app);
void add_time(CLI::App& app);
void add_resume(CLI::App& app);
void add_batch(CLI::App& app);
void add_coupon(CLI::App& app);  // with the four below
void add_coupon_read(CLI::App& coupon);
void add_coupon_fit(CLI::App& coupon);
void add_coupon_drift(CLI::App& coupon);
void add_formats(CLI::App& app);

}  // namespace circumfluence::program
