/* The door to dav1d: one coded AV1 picture in, its planes out. */
#include <stdint.h>
#include <string.h>

#include "dav1d/dav1d.h"

static Dav1dContext *ctx;
static Dav1dPicture pic;

static void quiet(void *cookie, const char *format, va_list ap) {
    (void) cookie; (void) format; (void) ap;
}

static void keep(const uint8_t *buf, void *cookie) {
    (void) buf; (void) cookie; /* the caller's memory stays until av1_close */
}

/* av1_close gives back what the picture before took. */
__attribute__((export_name("av1_close"))) void av1_close(void) {
    if (pic.data[0]) dav1d_picture_unref(&pic);
    if (ctx) dav1d_close(&ctx);
    ctx = NULL;
}

/* av1_open decodes n bytes of open bitstream units. It returns 1 and fills in
 *   info[0..2]  width, height, chroma format (0 gray, 1 4:2:0, 2 4:2:2, 3 4:4:4)
 *   info[3..4]  bits of luma and of color differences
 *   info[5..10] for each plane its address and the bytes from row to row;
 * numbers of more than 8 bits take two bytes, low byte first. The planes are
 * good until av1_close. It returns 0 where there is no picture. Film grain is added, as the stream asks. */
__attribute__((export_name("av1_open"))) int av1_open(const uint8_t *data, uint32_t n, uint32_t pixels, uint32_t *info) {
    av1_close();
    Dav1dSettings s;
    dav1d_default_settings(&s);
    s.n_threads = 1;
    s.max_frame_delay = 1;
    s.all_layers = 0;
    s.frame_size_limit = pixels;
    s.logger.callback = quiet;
    if (dav1d_open(&ctx, &s) < 0) return 0;
    Dav1dData in;
    memset(&in, 0, sizeof in);
    if (dav1d_data_wrap(&in, data, n, keep, NULL) < 0) return 0;
    int got = -1;
    while (in.sz > 0 && got < 0) {
        int err = dav1d_send_data(ctx, &in);
        if (err < 0 && err != DAV1D_ERR(EAGAIN)) { dav1d_data_unref(&in); return 0; }
        got = dav1d_get_picture(ctx, &pic);
        if (got < 0 && got != DAV1D_ERR(EAGAIN)) { dav1d_data_unref(&in); return 0; }
    }
    if (in.sz > 0) dav1d_data_unref(&in);
    if (got < 0) got = dav1d_get_picture(ctx, &pic);
    if (got < 0) return 0;
    info[0] = (uint32_t) pic.p.w;
    info[1] = (uint32_t) pic.p.h;
    info[2] = (uint32_t) pic.p.layout; /* the same numbers */
    info[3] = info[4] = (uint32_t) pic.p.bpc;
    for (int c = 0; c < 3; c++) {
        int there = c == 0 || pic.p.layout != DAV1D_PIXEL_LAYOUT_I400;
        info[5 + 2 * c] = there ? (uint32_t) (uintptr_t) pic.data[c] : 0;
        info[6 + 2 * c] = there ? (uint32_t) pic.stride[c > 0] : 0;
    }
    return 1;
}
