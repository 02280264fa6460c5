// The program: what a laser will do to a cylinder, from the command line.
#include <fmt/format.h>

#include <cstdio>
#include <exception>

#include "program/commands.h"
#include "quantity/error.h"

using namespace circumfluence;

int main(int argc, char** argv) {
  CLI::App app{"What a laser will do to a cylinder, computed before the laser is switched on.",
               "circumfluence"};
  app.set_version_flag("--version", "circumfluence " CIRCUMFLUENCE_VERSION);
  app.require_subcommand(1);
  app.footer(
      "Exit codes: 0 done, 2 wrong usage, 3 error in the job or a material, 4 a file cannot be read or "
      "written,\n"
      "5 beyond what the model or the records can say, 130 interrupted.");
  program::add_predict(app);
  program::add_check(app);
  program::add_materials(app);
  program::add_look(app);
  program::add_window(app);
  program::add_width(app);
  program::add_focus(app);
  program::add_art(app);
  program::add_sheet(app);
  program::add_rotary(app);
  program::add_time(app);
  program::add_resume(app);
  program::add_batch(app);
  program::add_coupon(app);
  program::add_formats(app);
  try {
    app.parse(argc, argv);
    return program::Exit::done;
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? program::Exit::done : program::Exit::usage;
  } catch (const quantity::JobError& error) {
    fmt::print(stderr, "error: {}\n", error.what());
    return program::Exit::bad_job;
  } catch (const quantity::FileError& error) {
    fmt::print(stderr, "error: {}\n", error.what());
    return program::Exit::bad_file;
  } catch (const quantity::ValidityError& error) {
    fmt::print(stderr, "error: {}\n", error.what());
    return program::Exit::beyond_model;
  } catch (const quantity::Interrupted&) {
    fmt::print(stderr, "interrupted; nothing was written\n");
    return program::Exit::interrupted;
  } catch (const std::exception& error) {
    fmt::print(stderr, "error: {}\n", error.what());
    return program::Exit::bad_file;
  }
}
