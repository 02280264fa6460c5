#include "mark/predict.h"

#include "job/job_file.h"
#include "job/material_file.h"

namespace circumfluence::mark {

FileHeader file_header(const Scene& scene, const workpiece::Surface& surface, bool compact) {
  FileHeader header;
  for (int row = 0; row < surface.around; ++row) {
    header.around.push_back(surface.arc(row));
    header.angle.push_back(surface.azimuth(row));
  }
  for (int column = 0; column < surface.axial; ++column) header.axial.push_back(surface.position(column));
  header.radius = surface.radius;
  header.title = "predicted mark of " + scene.job.artwork.file;
  header.job_text = scene.job.text.empty() ? job::write_job(scene.job) : scene.job.text;
  header.materials = job::write_material(scene.base);
  if (scene.coat) header.materials += "\n" + job::write_material(*scene.coat);
  header.compact = compact;
  return header;
}

Summary summary(const Verdict& v) {
  Summary summary;
  summary.words = {{"ruling", kRulingNames[int(v.ruling)]}};
  for (size_t i = 0; i < v.notes.size(); ++i)
    summary.words.push_back({"note_" + std::to_string(i + 1), v.notes[i]});
  const char* states[4] = {"untouched", "under_marked", "marked", "over_burned"};
  for (int i = 0; i < 4; ++i) {
    summary.figures.push_back({std::string("wanted_") + states[i], "1", v.wanted[i]});
    summary.figures.push_back({std::string("unwanted_") + states[i], "1", v.unwanted[i]});
  }
  const SummaryEntry figures[] = {{"wanted_area", "m^2", v.wanted_area},
                                  {"unwanted_area", "m^2", v.unwanted_area},
                                  {"power", "W", v.power},
                                  {"least_factor", "1", v.least_factor},
                                  {"greatest_factor", "1", v.greatest_factor},
                                  {"chance_marks", "1", v.chance_marks},
                                  {"chance_spares", "1", v.chance_spares},
                                  {"limiting_axial", "m", v.limiting.axial},
                                  {"limiting_around", "m", v.limiting.around},
                                  {"hottest", "K", v.hottest},
                                  {"melted_depth", "m", v.melt.depth},
                                  {"melted_width", "m", v.melt.width},
                                  {"softened", "1", v.softened},
                                  {"warmest_wall", "K", v.warmest_wall},
                                  {"duration", "s", v.duration},
                                  {"lines", "1", double(v.lines)}};
  summary.figures.insert(summary.figures.end(), std::begin(figures), std::end(figures));
  return summary;
}

}  // namespace circumfluence::mark
