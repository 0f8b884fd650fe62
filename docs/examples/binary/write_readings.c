/* Writes twelve apertures of each direction, in hundredths of a micrometre, to the file that the argument names.
   cc write_readings.c -lz -o write_readings && ./write_readings readings.svcr && sievecloth check readings.svcr ... */
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <zlib.h>

enum { aperture = 1, suspect = 2, wire = 3, warp = 0, weft = 1 };

static size_t put(unsigned char* to, uint64_t number, size_t bytes) {
  for (size_t i = 0; i < bytes; ++i) to[i] = (unsigned char)(number >> (8 * i));
  return bytes;
}

/* `bytes` and their checksum; there is room for it. */
static int write_checked(FILE* file, unsigned char* bytes, size_t size) {
  size += put(bytes + size, crc32(0, bytes, (uInt)size), 4);
  return fwrite(bytes, 1, size, file) == size;
}

static int write_header(FILE* file, uint64_t quantum_pm) {
  unsigned char bytes[28] = {0x89, 'S', 'V', 'C', 'R', '\r', '\n', 0x1A, 1};
  put(bytes + 16, quantum_pm, 8);
  return write_checked(file, bytes, 24);
}

/* At most 65 536 readings. */
static int write_run(FILE* file, int quantity, int direction, const int32_t* readings, uint32_t count) {
  static unsigned char bytes[8 + 4 * 65536 + 4];
  size_t size = put(bytes, (uint64_t)quantity, 1);
  size += put(bytes + size, (uint64_t)direction, 1);
  size += put(bytes + size, 0, 2);
  size += put(bytes + size, count, 4);
  for (uint32_t i = 0; i < count; ++i) size += put(bytes + size, (uint32_t)readings[i], 4);
  return write_checked(file, bytes, size);
}

static int write_end(FILE* file, uint64_t count) {
  unsigned char bytes[20] = {0};
  put(bytes + 8, count, 8);
  return write_checked(file, bytes, 16);
}

int main(int argc, char** argv) {
  static const int32_t along_warp[12] = {7531, 7498, 7512, 7540, 7477, 7503, 7525, 7490, 7518, 7509, 7533, 7486};
  static const int32_t along_weft[12] = {7602, 7588, 7571, 7615, 7593, 7580, 7609, 7577, 7598, 7584, 7601, 7590};
  FILE* file = argc == 2 ? fopen(argv[1], "wb") : NULL;
  if (file == NULL) return 1;
  int written = write_header(file, 10000) && write_run(file, aperture, warp, along_warp, 12) &&
                write_run(file, aperture, weft, along_weft, 12) && write_end(file, 24);
  return fclose(file) == 0 && written ? 0 : 1;
}
