// A rig in C++: two cameras, a thread and an inspector for each, merged into one verdict. Called with a file name it keeps
// snapshots there and takes up from it what a power cut left.
#include <atomic>
#include <cstdio>
#include <fstream>
#include <mutex>
#include <thread>
#include <vector>

#include <sievecloth/sievecloth.hpp>

using namespace sievecloth;

namespace {

constexpr int k_fields = 20;
constexpr int k_apertures = 12;  // in each direction of a field
constexpr int k_wires = 4;

/// A simulated camera: what it sees in a field depends on the field alone.
class Camera {
 public:
  explicit Camera(int field) : state_(static_cast<std::uint64_t>(field) * 2654435761u + 1) {}

  /// Lengths around `nominal` [pm], within +-`spread`.
  std::vector<Length> see(int count, std::int64_t nominal, std::int64_t spread) {
    std::vector<Length> lengths;
    for (int i = 0; i < count; ++i) {
      state_ = state_ * 6364136223846793005u + 1442695040888963407u;
      lengths.push_back(
          Length::from_pm(nominal - spread + static_cast<std::int64_t>((state_ >> 33) % (2 * static_cast<std::uint64_t>(spread)))));
    }
    return lengths;
  }

 private:
  std::uint64_t state_;
};

/// One camera's thread: every second field into an inspector of its own. A piece that has failed needs no further field.
void watch(int first_field, Inspector& inspector, std::atomic<bool>& failed) {
  for (int field = first_field; field < k_fields && !failed; field += 2) {
    Camera camera(field);
    for (const Direction direction : k_directions) {
      (void)inspector.add(Quantity::aperture, direction, camera.see(k_apertures, 75'000'000, 9'000'000));
      (void)inspector.add(Quantity::wire, direction, camera.see(k_wires, 50'000'000, 2'000'000));
    }
    if (inspector.standing().rejected) failed = true;
  }
}

// A snapshot replaces the one before only when it is whole.
bool keep(const Inspector& inspector, const char* file) {
  const std::string half = std::string(file) + ".new";
  const Snapshot snapshot = inspector.save();
  std::ofstream out(half, std::ios::binary);
  out.write(reinterpret_cast<const char*>(snapshot.data()), static_cast<std::streamsize>(snapshot.size()));
  out.close();
  return out.good() && std::rename(half.c_str(), file) == 0;
}

void print(const char* name, const Summary& apertures) {
  std::printf("%s n %lld mean_um %.17g s_um %.17g\n", name, static_cast<long long>(apertures.count()), *apertures.mean_um(),
              *apertures.standard_deviation_um());
}

}  // namespace

int main(int count, char** arguments) {
  const Result<const Edition*> edition = find_edition("astm-e11-17");
  const Result<Specification> size = specify(**edition, "No. 200", Grade::inspection);
  if (!size.ok()) return std::fprintf(stderr, "%s\n", to_text(size.error()).c_str()), 70;

  Conditions conditions;
  conditions.viewing_passed = true;
  constexpr std::int64_t k_share = k_fields / 2 * k_apertures;  // each thread's share of what was planned
  conditions.planned = {k_share, k_share};
  Inspector left = Inspector::create(*size, conditions).value();
  Inspector right = left;

  std::atomic<bool> failed = false;
  {
    std::jthread one([&] { watch(0, left, failed); });
    std::jthread two([&] { watch(1, right, failed); });
  }
  if (!left.merge(right)) return 70;

  if (count > 1) {  // save, forget, restore: the same inspector
    if (!keep(left, arguments[1])) return 73;
    Snapshot bytes{};
    std::ifstream(arguments[1], std::ios::binary)
        .read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    const Result<Inspector> restored = Inspector::restore(*size, left.conditions(), bytes);
    if (!restored.ok()) return std::fprintf(stderr, "%s\n", to_text(restored.error()).c_str()), 65;
    left = *restored;
  }

  const Result<Assessment> assessment = left.finish();
  if (!assessment.ok()) return std::fprintf(stderr, "%s\n", to_text(assessment.error()).c_str()), 65;
  std::printf("verdict %s\n", to_text(assessment->verdict).data());
  print("warp", left.sample()[Direction::warp].aperture);
  print("weft", left.sample()[Direction::weft].aperture);
  return assessment->verdict == Verdict::conforms ? 0 : 1;
}
