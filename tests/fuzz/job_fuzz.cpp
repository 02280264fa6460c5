// Any bytes are a job or a JobError; a job that is read is written and read again as the same text.
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <string_view>

#include "job/job_file.h"
#include "quantity/error.h"

// Records from files would make a run depend on the machine: an empty folder stands for them.
extern "C" int LLVMFuzzerInitialize(int*, char***) {
  const std::filesystem::path folder = std::filesystem::temp_directory_path() / "circumfluence_fuzz";
  std::filesystem::create_directories(folder);
  setenv("CIRCUMFLUENCE_MATERIALS", folder.c_str(), 1);
  setenv("HOME", folder.c_str(), 1);
  unsetenv("CIRCUMFLUENCE_MY_MATERIALS");
  return 0;
}

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  using namespace circumfluence;
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  job::Job job;
  try {
    job = job::parse_job(bytes, "job.toml", "/nonexistent");
  } catch (const quantity::JobError&) {
    return 0;
  }
  const std::string text = job::write_job(job);
  if (job::write_job(job::parse_job(text)) != text) std::abort();
  return 0;
}
