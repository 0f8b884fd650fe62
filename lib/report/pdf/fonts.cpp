#include "report/pdf/fonts.hpp"

#include <cairo-ft.h>

#include <new>
#include <stdexcept>

#include "base/text.hpp"

// The fonts, embedded as found when the module was built.
asm(".section .rodata\n"
    ".balign 16\n"
    "sievecloth_font_regular: .incbin \"" SIEVECLOTH_FONT_REGULAR
    "\"\n"
    "sievecloth_font_regular_end: .byte 0\n"
    ".balign 16\n"
    "sievecloth_font_bold: .incbin \"" SIEVECLOTH_FONT_BOLD
    "\"\n"
    "sievecloth_font_bold_end: .byte 0\n"
    ".balign 4096\n"  // its pages are not read from the disk unless it is used
    "sievecloth_font_fallback: .incbin \"" SIEVECLOTH_FONT_FALLBACK
    "\"\n"
    "sievecloth_font_fallback_end: .byte 0\n"
    ".previous\n");
extern "C" {
__attribute__((visibility("hidden"))) extern const char sievecloth_font_regular[];
__attribute__((visibility("hidden"))) extern const char sievecloth_font_regular_end[];
__attribute__((visibility("hidden"))) extern const char sievecloth_font_bold[];
__attribute__((visibility("hidden"))) extern const char sievecloth_font_bold_end[];
__attribute__((visibility("hidden"))) extern const char sievecloth_font_fallback[];
__attribute__((visibility("hidden"))) extern const char sievecloth_font_fallback_end[];
}

namespace sievecloth::pdf {
namespace {

std::string_view bytes(const char* begin, const char* end) { return {begin, static_cast<std::size_t>(end - begin)}; }

// The first character of a text, and its bytes. A byte that is not UTF-8 stands for itself.
struct Character {
  char32_t code;
  std::size_t length;
};

Character first_character(std::string_view text) {
  const std::size_t length = utf8_length(text);
  if (length == 0) return {static_cast<unsigned char>(text.front()), 1};
  return {code_point(text.substr(0, length)), length};
}

void demand(FT_Error error) {
  if (error == FT_Err_Out_Of_Memory) throw std::bad_alloc();
  if (error != FT_Err_Ok) throw std::runtime_error("a font cannot be used");
}

}  // namespace

Font::Font(FT_Library library, std::string_view bytes) {
  demand(
      FT_New_Memory_Face(library, reinterpret_cast<const FT_Byte*>(bytes.data()), static_cast<FT_Long>(bytes.size()), 0, &face_));
  cairo_face_ = cairo_ft_font_face_create_for_ft_face(face_, FT_LOAD_NO_HINTING);
  if (cairo_font_face_status(cairo_face_) != CAIRO_STATUS_SUCCESS) throw std::bad_alloc();  // kept, it would spoil every later page
}

Font::~Font() {
  cairo_font_face_destroy(cairo_face_);
  FT_Done_Face(face_);
}

const Font::Glyph& Font::glyph(char32_t character) const {
  if (const auto known = glyphs_.find(character); known != glyphs_.end()) return known->second;
  const FT_UInt index = FT_Get_Char_Index(face_, character);
  demand(FT_Load_Glyph(face_, index, FT_LOAD_NO_SCALE));
  const double advance = static_cast<double>(face_->glyph->metrics.horiAdvance) / face_->units_per_EM;
  return glyphs_.emplace(character, Glyph{advance, index == 0}).first->second;
}

FontLibrary::FontLibrary() { demand(FT_Init_FreeType(&library_)); }

Fonts::Fonts()
    : regular_(library_.get(), bytes(sievecloth_font_regular, sievecloth_font_regular_end)),
      bold_(library_.get(), bytes(sievecloth_font_bold, sievecloth_font_bold_end)) {}

const Font& Fonts::fallback() const {
  if (!fallback_) fallback_.emplace(library_.get(), bytes(sievecloth_font_fallback, sievecloth_font_fallback_end));
  return *fallback_;
}

const Font& Fonts::font_for(char32_t character, bool bold) const {
  const Font& wanted = bold ? bold_ : regular_;
  return wanted.glyph(character).missing && !fallback().glyph(character).missing ? fallback() : wanted;
}

std::vector<Fonts::Run> Fonts::runs(std::string_view utf8, bool bold) const {
  std::vector<Run> runs;
  while (!utf8.empty()) {
    const Character character = first_character(utf8);
    const Font& font = font_for(character.code, bold);
    if (runs.empty() || runs.back().font != &font) runs.push_back({&font, utf8.substr(0, 0), 0});
    Run& run = runs.back();
    run.text = {run.text.data(), run.text.size() + character.length};
    run.width += font.glyph(character.code).advance;
    utf8.remove_prefix(character.length);
  }
  return runs;
}

double Fonts::width(std::string_view utf8, double size, bool bold) const {
  double width = 0;
  while (!utf8.empty()) {
    const Character character = first_character(utf8);
    width += font_for(character.code, bold).glyph(character.code).advance;
    utf8.remove_prefix(character.length);
  }
  return size * width;
}

void Fonts::add_missing(std::string_view utf8, std::u32string& missing) const {
  while (!utf8.empty()) {
    const Character character = first_character(utf8);
    const bool known = missing.find(character.code) != std::u32string::npos;
    if (!known && font_for(character.code, false).glyph(character.code).missing) missing += character.code;
    utf8.remove_prefix(character.length);
  }
}

}  // namespace sievecloth::pdf
