// A job a few millimetres large, on the built-in records, with pictures made on the spot.
#pragma once

#include <fstream>
#include <string>

#include "artwork/made_pictures.h"
#include "job/job_file.h"
#include "mark/predict.h"
#include "mark/sample_map.h"

namespace circumfluence::mark {

inline constexpr std::string_view kSmallJob = R"toml([laser]
wavelength = "450 nm"
rated_power = "10 W"
losses = "0 %"
spot_axial = "80 um"
spot_around = "80 um"
focus_depth = "4 mm"

[workpiece]
shape = "straight"
length = "40 mm"
diameter = "60 mm"
wall = "0.8 mm"
base = "al_6061"
coat = "polyester_powder_black"
coat_thickness = "60 um"
temperature = "20 degC"

[mount]
hold = "turning"

[artwork]
file = "art.png"
size_axial = "4 mm"
axial = "20 mm"
burns = "dark"

[scan]
power = "75 %"
speed = "2500 mm/min"
spacing = "0.1 mm"
direction = "axial"
two_way = true
run_up = "3 mm"
acceleration = "1000 mm/s^2"
power_habit = "follows_speed"

[grid]
cell = "20 um"
margin = "0.3 mm"
)toml";

// A grey picture of 40 x 30 pixels, or of another size: 0 is black.
struct Picture {
  int width = 40, height = 30;
  std::vector<int> tone = std::vector<int>(1200, 0);
};

inline void put(const std::string& path, const Picture& picture) {
  const auto bytes = artwork::made::png({.width = picture.width, .height = picture.height}, picture.tone);
  std::ofstream(path, std::ios::binary)
      .write(reinterpret_cast<const char*>(bytes.data()), std::streamsize(bytes.size()));
}

// Black with a white frame and a white island: all the corners a row of dots can have.
inline Picture island() {
  Picture p;
  for (int y = 0; y < p.height; ++y)
    for (int x = 0; x < p.width; ++x)
      if (x < 4 || x >= 36 || y < 4 || y >= 26 || (x > 15 && x < 24 && y > 10 && y < 19))
        p.tone[size_t(y * p.width + x)] = 255;
  return p;
}

struct SmallJob {
  TestFolder folder;
  job::Job job;

  explicit SmallJob(const Picture& picture = {}) {
    put(folder.file("art.png"), picture);
    job = job::parse_job(kSmallJob, "small.toml", folder.path.string());
  }
  SmallJob& with(std::string_view address, std::string_view value) {
    job = job::replaced(job, address, value);
    return *this;
  }
  SmallJob& bare(const char* base, const char* wall = "0.8 mm") {
    job.workpiece.coat.clear();
    job.workpiece.coat_thickness = quantity::kUnset;
    return with("workpiece.base", base).with("workpiece.wall", wall);
  }
  // A dish 60 mm wide at one end.
  SmallJob& tapered(double end_diameter) {
    job.workpiece.shape = workpiece::Shape::tapered;
    job.workpiece.end_diameter = end_diameter;
    return *this;
  }
  Request request(bool keep = true, int threads = 1) const {
    Request request;
    request.keep = keep;
    request.threads = threads;
    return request;
  }
  MarkMap predicted(bool keep = false, int threads = 1) const { return predict(job, request(keep, threads)); }
  MarkMap on_a_cold_wall() const {  // as if earlier lines left no heat
    Request cold = request(true, 1);
    cold.warming = false;
    return predict(job, cold);
  }
  Verdict verdict() const { return predicted().verdict; }
};

}  // namespace circumfluence::mark
