#include "followed_file.hpp"

#include <algorithm>
#include <cstdint>
#include <vector>

#include <sys/stat.h>
#include <unistd.h>

#include "input.hpp"
#include "sievecloth/digest.hpp"

namespace sievecloth::tool {
namespace {

constexpr std::size_t k_block = std::size_t{256} * 1024;

class FollowedFile {
 public:
  FollowedFile(std::string path, Input input) : path_(std::move(path)), input_(std::move(input)), block_(k_block) {}

  /// Returns the next bytes; empty at the current end.
  Result<std::string_view> read() {
    const Result<std::size_t> size = input_.read(block_);
    if (!size.ok()) return size.errors();
    // Checked after the read: between a check and a read the file could be replaced.
    if (const Result<void> same = is_the_same(); !same) return same.errors();
    const std::string_view bytes(block_.data(), *size);
    if (input_.is_regular()) keep(bytes);
    return bytes;
  }

  /// Reads everything again and compares it.
  Result<void> check_whole() {
    if (!input_.is_regular()) return {};
    if (const Result<void> same = is_the_same(); !same) return same;
    Sha256 again;
    for (std::int64_t at = 0; at < read_;) {
      const std::size_t wanted = std::min(block_.size(), static_cast<std::size_t>(read_ - at));
      const std::size_t size = input_.read_at(at, std::span(block_).first(wanted));
      if (size == 0) return became("was written over");
      again.add({block_.data(), size});
      at += static_cast<std::int64_t>(size);
    }
    return again.hexadecimal() == digest_.hexadecimal() ? Result<void>() : became("was written over");
  }

 private:
  Error became(std::string_view what) const {
    return {ErrorCode::file_changed,
            std::string(what) + " while it was followed",
            "",
            "a file that only grows; begin again with the one that is there now",
            {path_, 0, 0}};
  }

  // Checks that the path still names the same file, not shorter, with the same bytes at the end of what was read. Earlier bytes are
  // checked once, before the verdict.
  Result<void> is_the_same() {
    if (!input_.is_regular()) return {};
    struct stat named {};
    if (::stat(path_.c_str(), &named) != 0) return became("was removed");
    const struct stat open = input_.status();
    if (named.st_ino != open.st_ino || named.st_dev != open.st_dev) return became("was replaced by another file");
    if (open.st_size < read_) return became("became shorter");
    std::string now(last_.size(), '\0');
    const std::size_t size = input_.read_at(read_ - static_cast<std::int64_t>(now.size()), now);
    return size == now.size() && now == last_ ? Result<void>() : became("was written over");
  }

  void keep(std::string_view bytes) {
    constexpr std::size_t k_kept = 4096;  // several rows
    digest_.add(bytes);
    read_ += static_cast<std::int64_t>(bytes.size());
    last_.append(bytes.substr(bytes.size() - std::min(bytes.size(), k_kept)));
    if (last_.size() > k_kept) last_.erase(0, last_.size() - k_kept);
  }

  std::string path_;
  Input input_;
  std::vector<char> block_;
  Sha256 digest_;          // of what was read
  std::int64_t read_ = 0;  // bytes read so far
  std::string last_;       // the last of them
};

}  // namespace

Result<void> follow_file(const std::string& path, const std::function<bool(std::string_view)>& take,
                         const std::function<bool()>& wait) {
  Result<Input> input = Input::open(path);
  if (!input.ok()) return input.errors();
  FollowedFile file(path, *std::move(input));
  for (bool is_last_look = false; true;) {
    const Result<std::string_view> bytes = file.read();
    if (!bytes.ok()) return bytes.errors();
    if ((!bytes->empty() && !take(*bytes)) || is_last_look) return file.check_whole();
    is_last_look = bytes->empty() && !wait();  // rows that arrived while it waited belong to the piece
  }
}

}  // namespace sievecloth::tool
