// Runs a fuzz target on files and on the files in folders: the kept corpus, or an input that failed.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <span>
#include <vector>

#include "fuzz.hpp"

namespace {

std::vector<std::filesystem::path> files_in(const std::filesystem::path& place) {
  if (!std::filesystem::is_directory(place)) return {place};
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(place)) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

void run(std::span<const char> bytes) { LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()); }

// Every truncation and every single flipped bit.
std::size_t run_damaged(std::vector<char> bytes) {
  for (std::size_t size = 0; size < bytes.size(); ++size)
    run(std::vector<char>(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(size)));
  for (std::size_t bit = 0; bit < 8 * bytes.size(); ++bit) {
    const auto turn = static_cast<char>(1 << bit % 8);
    bytes[bit / 8] = static_cast<char>(bytes[bit / 8] ^ turn);
    run(bytes);
    bytes[bit / 8] = static_cast<char>(bytes[bit / 8] ^ turn);
  }
  return 9 * bytes.size();
}

}  // namespace

// replay LONGEST PLACE...: also damages inputs of up to LONGEST bytes.
int main(int count, char** arguments) {
  if (count < 3) return std::fprintf(stderr, "usage: %s LONGEST_TO_DAMAGE PLACE...\n", arguments[0]), EXIT_FAILURE;
  const auto longest = static_cast<std::size_t>(std::atoi(arguments[1]));
  std::size_t inputs = 0, damaged = 0;
  for (int i = 2; i < count; ++i) {
    for (const std::filesystem::path& path : files_in(arguments[i])) {
      std::ifstream file(path, std::ios::binary);
      const std::vector<char> bytes{std::istreambuf_iterator<char>(file), {}};
      if (!file) return std::fprintf(stderr, "%s: cannot be read\n", path.c_str()), EXIT_FAILURE;
      std::fprintf(stderr, "%s\n", path.c_str());  // the last line names the input that failed
      run(bytes);
      ++inputs;
      if (bytes.size() <= longest) damaged += run_damaged(bytes);
    }
  }
  std::printf("%zu inputs, %zu damaged ones\n", inputs, damaged);
  return inputs < 10 ? EXIT_FAILURE : EXIT_SUCCESS;  // a missing corpus is a failure
}
