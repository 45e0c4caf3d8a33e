#include "stanchion_wire.h"

#include <string.h>

#define HEADER_SIZE 9
#define SUM_SIZE 4

/* CRC-32C: polynomial 1EDC6F41, reflected: 82F63B78. The running value is kept inverted. */
static uint32_t crc_step(uint32_t inverted, uint8_t byte)
{
#if SW_CRC_TABLE == 16
	static const uint32_t table[16] = {
		0x00000000UL, 0x105EC76FUL, 0x20BD8EDEUL, 0x30E349B1UL, 0x417B1DBCUL, 0x5125DAD3UL, 0x61C69362UL, 0x7198540DUL,
		0x82F63B78UL, 0x92A8FC17UL, 0xA24BB5A6UL, 0xB21572C9UL, 0xC38D26C4UL, 0xD3D3E1ABUL, 0xE330A81AUL, 0xF36E6F75UL
	};
	inverted ^= byte;
	inverted = (inverted >> 4) ^ table[inverted & 15];
	return (inverted >> 4) ^ table[inverted & 15];
#elif SW_CRC_TABLE == 0
	int bit;
	inverted ^= byte;
	for (bit = 0; bit < 8; bit++)
		inverted = (inverted >> 1) ^ ((inverted & 1) ? 0x82F63B78UL : 0);
	return inverted;
#else
#error "SW_CRC_TABLE must be 0 or 16"
#endif
}

uint32_t sw_crc(uint32_t crc, const uint8_t *data, size_t size)
{
	size_t i;
	crc = ~crc;
	for (i = 0; i < size; i++)
		crc = crc_step(crc, data[i]);
	return ~crc;
}

/* Writes a frame: COBS and CRC are worked out while the bytes go by. */
typedef struct {
	uint8_t *out;
	size_t size, at, code; /* next byte; code of the block under way */
	size_t raw;            /* bytes put, before COBS */
	uint32_t inverted;     /* CRC */
	int full;              /* out is too small */
} writer;

static void emit(writer *w, uint8_t byte)
{
	if (w->at < w->size)
		w->out[w->at++] = byte;
	else
		w->full = 1;
}

static void close_block(writer *w)
{
	if (!w->full)
		w->out[w->code] = (uint8_t)(w->at - w->code);
	w->code = w->at;
}

static void stuff(writer *w, uint8_t byte)
{
	w->raw++;
	if (w->at - w->code == 255) { /* the block is full and stands for no zero */
		close_block(w);
		emit(w, 0);
	}
	if (byte == 0)
		close_block(w);
	emit(w, byte); /* a zero is the place of the next code */
}

static void put8(writer *w, uint8_t v)
{
	w->inverted = crc_step(w->inverted, v);
	stuff(w, v);
}

static void put16(writer *w, uint16_t v)
{
	put8(w, (uint8_t)(v & 0xFF));
	put8(w, (uint8_t)(v >> 8));
}

static void put32(writer *w, uint32_t v)
{
	put16(w, (uint16_t)(v & 0xFFFF));
	put16(w, (uint16_t)(v >> 16));
}

static void put64(writer *w, uint64_t v)
{
	put32(w, (uint32_t)(v & 0xFFFFFFFFUL));
	put32(w, (uint32_t)(v >> 32));
}

static void put_float(writer *w, float v)
{
	uint32_t bits;
	memcpy(&bits, &v, sizeof bits);
	put32(w, bits);
}

/* Length of a text, or most+1 where it is longer. */
static size_t text_size(const char *text, size_t most)
{
	size_t n = 0;
	while (n <= most && text[n] != 0)
		n++;
	return n;
}

static void put_text(writer *w, const char *text, size_t size)
{
	size_t i;
	put8(w, (uint8_t)size);
	for (i = 0; i < size; i++)
		put8(w, (uint8_t)text[i]);
}

static void begin(writer *w, const sw_sender *s, uint8_t *out, size_t size, uint8_t type)
{
	w->out = out;
	w->size = size;
	w->at = w->raw = 0;
	w->inverted = 0xFFFFFFFFUL;
	w->full = 0;
	emit(w, 0); /* delimiter */
	w->code = w->at;
	emit(w, 0); /* place of the first code */
	put8(w, type);
	put32(w, s->session);
	put32(w, s->sequence);
}

static size_t finish(writer *w, sw_sender *s)
{
	uint32_t crc = ~w->inverted;
	int i;
	for (i = 0; i < SUM_SIZE; i++)
		stuff(w, (uint8_t)((crc >> (8 * i)) & 0xFF));
	close_block(w);
	emit(w, 0); /* delimiter */
	if (w->full || w->raw > SW_MAX_FRAME || s->session == 0)
		return 0;
	s->sequence++;
	return w->at;
}

size_t sw_hello(sw_sender *s, uint8_t *out, size_t size, const sw_hello_data *d)
{
	writer w;
	size_t device = text_size(d->device, SW_MAX_TEXT), firmware = text_size(d->firmware, SW_MAX_TEXT);
	uint8_t i;
	if (device > SW_MAX_TEXT || firmware > SW_MAX_TEXT || d->channel_count < 1 || d->channel_count > SW_MAX_CHANNELS)
		return 0;
	begin(&w, s, out, size, SW_HELLO);
	put8(&w, SW_VERSION_MAJOR);
	put8(&w, SW_VERSION_MINOR);
	put64(&w, d->stamp_us);
	put32(&w, d->rate_millihz);
	put8(&w, d->streaming ? 1 : 0);
	put_text(&w, d->device, device);
	put_text(&w, d->firmware, firmware);
	put8(&w, d->channel_count);
	for (i = 0; i < d->channel_count; i++) {
		const sw_channel *c = &d->channels[i];
		size_t name = text_size(c->name, SW_MAX_NAME);
		if (name > SW_MAX_NAME)
			return 0;
		put8(&w, (uint8_t)(4 + 12 + 1 + name));
		put8(&w, c->kind);
		put8(&w, c->unit);
		put8(&w, c->flags);
		put8(&w, c->adc_bits);
		put_float(&w, c->full_scale);
		put_float(&w, c->scale);
		put_float(&w, c->offset);
		put_text(&w, c->name, name);
	}
	return finish(&w, s);
}

size_t sw_samples(sw_sender *s, uint8_t *out, size_t size, const sw_samples_data *d)
{
	writer w;
	size_t i, count = (size_t)d->sample_count * d->channel_count;
	if (count == 0 || d->channel_count > SW_MAX_CHANNELS)
		return 0;
	begin(&w, s, out, size, SW_SAMPLES);
	put32(&w, d->index);
	put64(&w, d->stamp_us);
	put32(&w, d->span_us);
	put8(&w, d->sample_count);
	put8(&w, d->channel_count);
	for (i = 0; i < count; i++)
		put16(&w, d->values[i]);
	return finish(&w, s);
}

size_t sw_marker(sw_sender *s, uint8_t *out, size_t size, uint64_t stamp_us, uint16_t label)
{
	writer w;
	begin(&w, s, out, size, SW_MARKER);
	put64(&w, stamp_us);
	put16(&w, label);
	return finish(&w, s);
}

size_t sw_status(sw_sender *s, uint8_t *out, size_t size, const sw_status_data *d)
{
	writer w;
	begin(&w, s, out, size, SW_STATUS);
	put64(&w, d->stamp_us);
	put32(&w, d->samples);
	put32(&w, d->overruns);
	put32(&w, d->dropped);
	put16(&w, d->battery_mv);
	put16(&w, (uint16_t)d->temperature_decic);
	put32(&w, d->uptime_s);
	return finish(&w, s);
}

size_t sw_end(sw_sender *s, uint8_t *out, size_t size, uint64_t stamp_us, uint32_t samples, uint8_t reason)
{
	writer w;
	begin(&w, s, out, size, SW_END);
	put64(&w, stamp_us);
	put32(&w, samples);
	put8(&w, reason);
	return finish(&w, s);
}

size_t sw_reply(sw_sender *s, uint8_t *out, size_t size, uint8_t command, uint32_t command_sequence, uint8_t result,
                uint32_t rate_millihz)
{
	writer w;
	begin(&w, s, out, size, SW_REPLY);
	put8(&w, command);
	put32(&w, command_sequence);
	put8(&w, result);
	put32(&w, rate_millihz);
	return finish(&w, s);
}

static uint32_t get32(const uint8_t *b)
{
	return (uint32_t)b[0] | (uint32_t)b[1] << 8 | (uint32_t)b[2] << 16 | (uint32_t)b[3] << 24;
}

/* Reads the frame in r->raw. */
static int read_command(const sw_receiver *r, sw_command *c)
{
	const uint8_t *payload = r->raw + HEADER_SIZE;
	size_t size;
	if (r->count < HEADER_SIZE + SUM_SIZE)
		return 0;
	size = r->count - HEADER_SIZE - SUM_SIZE;
	if (sw_crc(0, r->raw, r->count - SUM_SIZE) != get32(payload + size))
		return 0;
	if (r->raw[0] < 0x80 || r->raw[0] > 0xBF)
		return 0; /* not for devices */
	c->type = r->raw[0];
	c->sequence = get32(r->raw + 5);
	c->rate_millihz = 0;
	c->label = 0;
	if (c->type == SW_SET_RATE) {
		if (size < 4)
			return 0;
		c->rate_millihz = get32(payload);
	}
	if (c->type == SW_MARK) {
		if (size < 2)
			return 0;
		c->label = (uint16_t)(payload[0] | (uint16_t)payload[1] << 8);
	}
	return 1;
}

static void hold(sw_receiver *r, uint8_t byte)
{
	if (r->count < SW_COMMAND_SIZE)
		r->raw[r->count++] = byte;
	else
		r->damaged = 1; /* too long */
}

int sw_receive(sw_receiver *r, uint8_t byte, sw_command *c)
{
	int whole = 0;
	if (byte == 0) {
		if (r->begun && !r->damaged && r->left == 0)
			whole = read_command(r, c);
		r->count = 0;
		r->left = r->zero = r->begun = r->damaged = 0;
	} else if (r->damaged) {
		/* wait */
	} else if (r->left > 0) {
		r->left--;
		hold(r, byte);
	} else { /* code of the next block */
		if (r->zero)
			hold(r, 0);
		r->begun = 1;
		r->left = (uint8_t)(byte - 1);
		r->zero = byte < 0xFF;
	}
	return whole;
}

uint64_t sw_clock_us(sw_clock *c, uint32_t counter_us)
{
	if (counter_us < c->last)
		c->wraps++;
	c->last = counter_us;
	return (uint64_t)c->wraps << 32 | counter_us;
}
