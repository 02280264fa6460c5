#include <algorithm>
#include <cmath>
#include <vector>

#include "motion/kinematics.h"

namespace circumfluence::motion {
namespace {

using quantity::kInfinity;

constexpr size_t kFewest = 1024;  // moves gathered before the first look

// [m/s] what can be reached over `way` from any speed of at least ramp.from. Starting faster is no help under
// a jerk limit until the gain is twice the start: more of it has to be gained from zero acceleration in less
// time. d(way)/d(from) = 0 of (2 v + D) / 2 T(D) with v + D held gives D = 2 v where `acceleration` is not
// reached, v = a^2 / 2 j where it is.
double surely_reached(const Ramp& ramp, double way) {
  if (!(ramp.jerk > 0)) return reach(ramp, way);
  const double shorter = std::cbrt(way * way * ramp.jerk / 32),
               longer = ramp.acceleration * ramp.acceleration / (2 * ramp.jerk);
  Ramp worst = ramp;
  worst.from = std::max(ramp.from, std::min(shorter, longer));
  return reach(worst, way);
}

// [m/s] the greatest speed of a run that begins and ends at given speeds.
double top_of(const Travel::Run& run, const Ramp& drive, double cap) {
  const double low = std::max(run.entry, run.leave);
  if (!(run.length > 0)) return low;
  const double most =
      std::max(low, std::min(cap, std::sqrt(drive.acceleration * run.length +
                                            (run.entry * run.entry + run.leave * run.leave) / 2)));
  if (!(drive.jerk > 0)) return most;
  const auto too_long = [&](double top) {
    return Ramp{run.entry, top, drive.acceleration, drive.jerk}.distance() +
           Ramp{top, run.leave, drive.acceleration, drive.jerk}.distance() - run.length;
  };
  if (!(too_long(most) > 0)) return most;
  if (run.entry == run.leave)
    return std::min(most, reach({run.entry, 0, drive.acceleration, drive.jerk}, run.length / 2));
  double from = low, to = most;
  if (!(too_long(from) < 0)) return low;
  while (to - from > 1e-15 * to) {
    const double middle = (from + to) / 2;
    if (middle <= from || middle >= to) break;
    (too_long(middle) < 0 ? from : to) = middle;
  }
  return from;
}

// [s] the same way as Travel reckons it.
double duration_of(const Travel& t, double length) {
  const Ramp up{t.entry, t.top, t.acceleration, t.jerk}, down{t.top, t.leave, t.acceleration, t.jerk};
  const double level = std::max(0.0, length - up.distance() - down.distance());
  return t.top > 0 ? up.duration() + level / t.top + down.duration() : 0.0;
}

}  // namespace

// Moves held back, in runs: one each, or several together where a jerk limit asks for it.
class Planner::Runs {
 public:
  Runs(const Machine& machine, Take take);
  bool take(const Move& move);
  bool finish() { return going_ && (held() == 0 || plan(true)); }
  double elapsed() const { return elapsed_; }

 private:
  struct Piece {
    size_t moves;                          // of the run
    double length, top, acceleration;      // [m], [m/s], [m/s^2]
    double cap;                            // [m/s] the most where it begins
    double back = 0, sure = 0, enter = 0;  // [m/s] there: if the path ended; whatever comes; as run
  };
  void add(const Piece& next, double corner);
  void look_back(bool ended);
  size_t look_forward(double Piece::*bound);
  bool plan(bool ended);
  void hand_on(size_t count);
  bool run(const Piece& piece, double leave);
  bool run_together(const Piece& piece, Travel travel);
  size_t held() const { return moves_.size() - first_move_; }

  Machine machine_;
  Take take_;
  double jerk_;
  size_t most_, wait_;
  std::vector<Piece> pieces_;
  std::vector<Move> moves_;
  size_t first_piece_ = 0, first_move_ = 0;
  Heading heading_;
  double enter_ = 0, elapsed_ = 0;
  bool going_ = true;
};

Planner::Runs::Runs(const Machine& machine, Take take)
    : machine_(machine),
      take_(std::move(take)),
      jerk_(machine.jerk > 0 ? machine.jerk : 0.0),
      most_(machine.look_ahead > 0 ? std::min(size_t(machine.look_ahead), kMostAhead) : kMostAhead),
      wait_(std::min(most_, machine.look_ahead > 0 ? most_ : kFewest)) {
  check(machine);
}

bool Planner::Runs::take(const Move& move) {
  if (!going_) return false;
  const Course way = course(move);
  const MoveLimits most = limits(machine_, move, way);
  double corner = kInfinity;
  if (way.length > 0) {
    corner = corner_speed(machine_, heading_, way.begin);  // of no account after a stop
    heading_ = way.end;
  }
  moves_.push_back(move);
  add({1, way.length, most.speed, most.acceleration, most.speed}, corner);
  return held() < wait_ || plan(false);
}

// Without a jerk limit every move is a run by itself.
void Planner::Runs::add(const Piece& next, double corner) {
  const bool first = first_piece_ == pieces_.size();  // then it starts from rest
  if (!first && jerk_ > 0) {
    Piece& last = pieces_.back();
    const bool even =
        next.length == 0 || next.top == last.top || std::abs(next.top - last.top) <= 1e-9 * last.top;
    if (even && next.top > 0 && last.top > 0 && corner >= next.top && 2 * last.moves < most_) {
      last.moves += 1, last.length += next.length, last.back = -1;
      last.acceleration = std::min(last.acceleration, next.acceleration);
      return;
    }
  }
  const double before = first ? next.top : pieces_.back().top;
  pieces_.push_back(next);
  pieces_.back().cap = std::min({next.top, before, corner});
  pieces_.back().back = -1;  // not looked at yet
}

// How fast each run may begin so that all that comes after it can be met. What lies before a run that is
// looked at again and found unchanged is unchanged too.
void Planner::Runs::look_back(bool ended) {
  double back = 0, sure = 0;
  bool fixed = ended;  // nothing that may follow changes the speed at the run's end
  for (size_t i = pieces_.size(); i-- > first_piece_;) {
    Piece& piece = pieces_[i];
    const double most = std::min(piece.cap, reach({back, 0, piece.acceleration, jerk_}, piece.length));
    const double least =
        fixed || jerk_ == 0
            ? most
            : std::min(piece.cap, surely_reached({sure, 0, piece.acceleration, jerk_}, piece.length));
    if (most == piece.back && least == piece.sure) return;
    piece.back = back = most, piece.sure = sure = least;
    fixed = fixed || least >= piece.cap;
  }
}

// How fast each run begins; returns how many runs nothing can change any more: up to the last corner that
// will be met at its own speed, and on from there as long as the machine is still gaining speed towards what
// it surely may have.
size_t Planner::Runs::look_forward(double Piece::*bound) {
  size_t settled = first_piece_;
  bool gaining = true;
  pieces_[first_piece_].enter = enter_;
  for (size_t i = first_piece_ + 1; i < pieces_.size(); ++i) {
    const Piece& last = pieces_[i - 1];
    Piece& piece = pieces_[i];
    const double most = reach({last.enter, 0, last.acceleration, jerk_}, last.length);
    piece.enter = std::min(piece.*bound, most);
    gaining = piece.sure >= piece.cap || (gaining && most <= piece.sure);
    if (gaining) settled = i;
  }
  return settled - first_piece_;
}

bool Planner::Runs::plan(bool ended) {
  look_back(ended);
  size_t ready = look_forward(&Piece::back);
  const size_t count = pieces_.size() - first_piece_;
  if (ended) {
    ready = count;
  } else if (ready == 0 && held() >= most_) {
    look_forward(&Piece::sure);
    ready = machine_.look_ahead > 0 ? 1 : std::max<size_t>(1, count / 2);
  }
  hand_on(ready);
  if (machine_.look_ahead == 0) wait_ = std::clamp(2 * held(), kFewest, kMostAhead);
  return going_;
}

void Planner::Runs::hand_on(size_t count) {
  for (; count > 0 && going_; --count) {
    const Piece& piece = pieces_[first_piece_++];
    enter_ = first_piece_ < pieces_.size() ? pieces_[first_piece_].enter : 0.0;
    going_ = run(piece, enter_);
  }
  if (2 * first_piece_ >= pieces_.size()) {
    pieces_.erase(pieces_.begin(), pieces_.begin() + std::ptrdiff_t(first_piece_));
    first_piece_ = 0;
  }
  if (2 * first_move_ >= moves_.size()) {
    moves_.erase(moves_.begin(), moves_.begin() + std::ptrdiff_t(first_move_));
    first_move_ = 0;
  }
}

bool Planner::Runs::run(const Piece& piece, double leave) {
  Travel travel{.start = elapsed_,
                .entry = piece.enter,
                .leave = leave,
                .acceleration = piece.acceleration,
                .jerk = jerk_};
  const Travel::Run whole{piece.length, 0, piece.enter, 0, leave};
  travel.top = top_of(whole, {0, 0, piece.acceleration, jerk_}, piece.top);
  if (piece.moves > 1) return run_together(piece, travel);
  travel.move = moves_[first_move_++];
  travel.duration =
      travel.move.kind == Move::Kind::dwell ? travel.move.pause : duration_of(travel, piece.length);
  elapsed_ += travel.duration;
  return take_(travel);
}

bool Planner::Runs::run_together(const Piece& piece, Travel travel) {
  const double up = Ramp{travel.entry, travel.top, piece.acceleration, jerk_}.distance();
  const double down = piece.length - Ramp{travel.top, travel.leave, piece.acceleration, jerk_}.distance();
  travel.run = {piece.length, 0, travel.entry, travel.top, travel.leave};
  for (size_t i = 0; i < piece.moves; ++i) {
    travel.move = moves_[first_move_++];
    const double length = travel.move.length(), end = travel.run.before + length;
    travel.start = elapsed_;
    travel.duration = travel.time_at(length);
    travel.entry = i == 0 ? travel.run.entry : travel.leave;
    travel.leave = i + 1 == piece.moves ? travel.run.leave : travel.speed_at(length);
    travel.top =
        travel.run.before <= down && end >= up ? travel.run.top : std::max(travel.entry, travel.leave);
    elapsed_ += travel.duration;
    if (!take_(travel)) return false;
    travel.run.before = end;
  }
  return true;
}

Planner::Planner(const Machine& machine, Take take)
    : runs_(std::make_unique<Runs>(machine, std::move(take))) {}

Planner::~Planner() = default;

bool Planner::take(const Move& move) {
  return runs_->take(move);
}

bool Planner::finish() {
  return runs_->finish();
}

double Planner::elapsed() const {
  return runs_->elapsed();
}

}  // namespace circumfluence::motion
