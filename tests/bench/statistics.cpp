// Simulates good and faulty pieces and prints the table of docs/statistics.md: `sievecloth_statistics [PIECES] [NAME]`. Cells of
// one group share a row: the lowest coverage, the highest share of pieces with a sign.
#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <string>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "support/cell_list.hpp"

namespace sievecloth::test {
namespace {

using Simulated = std::vector<std::pair<Cell, Counts>>;

template <class Compare, class Share>
std::string extreme(const Simulated& cells, Share share, Compare further) {
  std::optional<double> found;
  for (const auto& [cell, counts] : cells) {
    const auto [part, whole] = share(counts);
    if (whole == 0) continue;
    const double value = static_cast<double>(part) / whole;
    if (!found || further(value, *found)) found = value;
  }
  return found ? fmt::format("{:.3f}", *found) : "-";
}

// Signs in two percent of the pieces of a cell or more, with the highest share.
std::string signs(const Simulated& cells) {
  std::string text;
  for (std::size_t kind = 0; kind < cells.front().second.signs.size(); ++kind) {
    int most = 0;
    for (const auto& [cell, counts] : cells) most = std::max(most, counts.signs[kind]);
    const int pieces = cells.front().second.pieces;
    if (most * 50 < pieces) continue;
    text += fmt::format("{}{} {:.3f}", text.empty() ? "" : ", ", to_text(static_cast<SignKind>(kind)),
                        static_cast<double>(most) / pieces);
  }
  return text;
}

std::string row(const Simulated& cells) {
  const std::less<> less;
  const auto covered = [&](int Counts::*held, int Counts::*shown) {
    return extreme(
        cells, [=](const Counts& counts) { return std::pair(counts.*held, counts.*shown); }, less);
  };
  return fmt::format("| {} | {} | {} | {} | {} | {} | {} | {} |\n", cells.front().first.group,
                     covered(&Counts::mean_held, &Counts::mean_shown), covered(&Counts::deviation_held, &Counts::deviation_shown),
                     covered(&Counts::deviation_shown, &Counts::sides), covered(&Counts::share_held, &Counts::share_shown),
                     covered(&Counts::difference_held, &Counts::difference_shown),
                     extreme(
                         cells, [](const Counts& counts) { return std::pair(counts.alarms, counts.pieces); }, std::greater<>()),
                     signs(cells));
}

Simulated simulate_all(std::vector<Cell> cells, int pieces) {
  Simulated simulated(cells.size());
  std::atomic<std::size_t> next = 0;
  const auto work = [&] {
    for (std::size_t i = next++; i < cells.size(); i = next++) simulated[i] = {cells[i], simulate(cells[i], pieces)};
  };
  {
    const std::jthread other(work);
    work();
  }
  return simulated;
}

}  // namespace
}  // namespace sievecloth::test

int main(int argc, char** argv) {
  using namespace sievecloth::test;
  const int pieces = argc > 1 ? std::atoi(argv[1]) : 4000;
  const std::string only = argc > 2 ? argv[2] : "";
  std::vector<Cell> cells = all_cells();
  std::erase_if(cells, [&](const Cell& cell) { return cell.group.find(only) == std::string::npos; });
  Simulated simulated = simulate_all(std::move(cells), pieces);
  fmt::print("| pieces | mean | s | s shown | share | difference | any sign | signs |\n|---|---|---|---|---|---|---|---|\n");
  while (!simulated.empty()) {
    const std::string group = simulated.front().first.group;
    const auto rest =
        std::stable_partition(simulated.begin(), simulated.end(), [&](const auto& of) { return of.first.group == group; });
    fmt::print("{}", row({simulated.begin(), rest}));
    simulated.erase(simulated.begin(), rest);
  }
}
