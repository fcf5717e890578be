/* The door to libde265: one coded HEVC picture in, its planes out. */
#include <stdint.h>
#include <stdlib.h>

#include "libde265/de265.h"

static de265_decoder_context *ctx;

/* hevc_close gives back what the picture before took. */
__attribute__((export_name("hevc_close"))) void hevc_close(void) {
    if (ctx) de265_free_decoder(ctx);
    ctx = NULL;
}

/* hevc_open decodes n bytes of NAL units, each behind its length in 4 bytes,
 * high byte first. It returns 1 and fills in
 *   info[0..2]  width, height, chroma format (0 gray, 1 4:2:0, 2 4:2:2, 3 4:4:4)
 *   info[3..4]  bits of luma and of color differences
 *   info[5..10] for each plane its address and the bytes from row to row;
 * numbers of more than 8 bits take two bytes, low byte first. The planes are
 * good until hevc_close. It returns 0 where there is no picture. */
__attribute__((export_name("hevc_open"))) int hevc_open(const uint8_t *data, uint32_t n, uint32_t *info) {
    hevc_close();
    ctx = de265_new_decoder();
    if (!ctx) return 0;
    for (uint32_t at = 0; n - at > 4;) {
        uint32_t len = (uint32_t) data[at] << 24 | (uint32_t) data[at + 1] << 16 | (uint32_t) data[at + 2] << 8 | data[at + 3];
        at += 4;
        if (len > n - at) return 0;
        if (de265_push_NAL(ctx, data + at, (int) len, 0, NULL) != DE265_OK) return 0;
        at += len;
    }
    if (de265_flush_data(ctx) != DE265_OK) return 0;
    int more = 1;
    const struct de265_image *img = NULL;
    while (more && !img && !stopped()) {
        more = 0;
        de265_error err = de265_decode(ctx, &more);
        if (err != DE265_OK && err != DE265_ERROR_WAITING_FOR_INPUT_DATA) return 0;
        img = de265_get_next_picture(ctx);
    }
    if (!img) return 0;
    info[0] = (uint32_t) de265_get_image_width(img, 0);
    info[1] = (uint32_t) de265_get_image_height(img, 0);
    info[2] = (uint32_t) de265_get_chroma_format(img);
    info[3] = (uint32_t) de265_get_bits_per_pixel(img, 0);
    info[4] = info[3];
    for (int c = 0; c < 3; c++) {
        info[5 + 2 * c] = info[6 + 2 * c] = 0;
        if (c > 0 && info[2] == 0) continue;
        int stride = 0;
        const uint8_t *p = de265_get_image_plane(img, c, &stride);
        if (c > 0) info[4] = (uint32_t) de265_get_bits_per_pixel(img, c);
        info[5 + 2 * c] = (uint32_t) (uintptr_t) p;
        info[6 + 2 * c] = (uint32_t) stride;
    }
    return 1;
}
