/* Frames of a travel sensor, as described in ../spec.md: encoder for the device's frames, decoder for the host's commands.
 *
 * C99, no heap, nothing of the C library but memcpy. The only RAM is what the caller hands in: a buffer for one frame, a
 * sw_sender, and a sw_receiver. Needs 8-bit bytes and 32-bit IEEE 754 floats. Not for use from several threads or
 * interrupts at once.
 */
#ifndef STANCHION_WIRE_H
#define STANCHION_WIRE_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How CRC-32C is computed: 16 = table of 64 bytes, two steps a byte; 0 = no table, eight steps a byte. */
#ifndef SW_CRC_TABLE
#define SW_CRC_TABLE 16
#endif

/* Most bytes of a command before COBS that the receiver holds. Longer frames are passed over. At least 17. */
#ifndef SW_COMMAND_SIZE
#define SW_COMMAND_SIZE 48
#endif

#define SW_VERSION_MAJOR 1
#define SW_VERSION_MINOR 0

#define SW_MAX_FRAME 1024 /* header, payload and CRC, before COBS */
#define SW_MAX_CHANNELS 16
#define SW_MAX_SAMPLES 255
#define SW_MAX_TEXT 32
#define SW_MAX_NAME 24

/* Bytes of a frame buffer: for any frame, for samples, and for a hello with the longest texts. */
#define SW_BUFFER(raw) ((raw) + (raw) / 254 + 3)
#define SW_BUFFER_ANY SW_BUFFER(SW_MAX_FRAME)
#define SW_BUFFER_SAMPLES(samples, channels) SW_BUFFER(31 + 2 * (samples) * (channels))
#define SW_BUFFER_HELLO(channels) SW_BUFFER(95 + 42 * (channels))

enum { /* frame types */
	SW_HELLO = 0x01, SW_SAMPLES = 0x02, SW_MARKER = 0x03, SW_STATUS = 0x04, SW_END = 0x05, SW_REPLY = 0x06,
	SW_IDENTIFY = 0x81, SW_START = 0x82, SW_STOP = 0x83, SW_SET_RATE = 0x84, SW_MARK = 0x85
};

enum { /* kinds of channel */
	SW_KIND_OTHER = 0, SW_KIND_TRAVEL = 1, SW_KIND_TRAVEL2 = 2, SW_KIND_SPEED = 3, SW_KIND_ACCELERATION = 4,
	SW_KIND_TEMPERATURE = 5, SW_KIND_MARKER_INPUT = 6, SW_KIND_PRESSURE = 7, SW_KIND_TURN_RATE = 8, SW_KIND_DISTANCE = 9
};

enum { /* units */
	SW_UNIT_NONE = 0, SW_UNIT_COUNTS = 1, SW_UNIT_VOLT = 2, SW_UNIT_PERCENT = 3, SW_UNIT_MM = 4, SW_UNIT_METRE = 5,
	SW_UNIT_METRE_PER_SECOND = 6, SW_UNIT_METRE_PER_SECOND2 = 7, SW_UNIT_CELSIUS = 8, SW_UNIT_KILOPASCAL = 9,
	SW_UNIT_RADIAN_PER_SECOND = 10
};

enum { SW_SIGNED = 1, SW_SPARSE = 2 }; /* flags of a channel */

enum { /* labels of a marker; from 0x8000 on free for the user */
	SW_LABEL_NONE = 0, SW_LABEL_BUTTON = 1, SW_LABEL_GATE = 2, SW_LABEL_RUN_START = 3, SW_LABEL_RUN_END = 4,
	SW_LABEL_SAG_START = 5, SW_LABEL_SAG_END = 6
};

enum { SW_END_COMMAND = 0, SW_END_BUTTON = 1, SW_END_BATTERY = 2, SW_END_SENSOR = 3, SW_END_OTHER = 4 };

enum { SW_DONE = 0, SW_NOT_NOW = 1, SW_REFUSED = 2, SW_UNKNOWN = 3 }; /* results of a command */

#define SW_NO_TEMPERATURE (-32768)

/* The device's side of the numbering. session: drawn anew at each power-up or reset, never 0. sequence: 0 at that time. */
typedef struct {
	uint32_t session;
	uint32_t sequence;
} sw_sender;

typedef struct {
	uint8_t kind, unit, flags, adc_bits;
	float full_scale, scale, offset;
	const char *name; /* UTF-8, at most SW_MAX_NAME bytes, ended by 0 */
} sw_channel;

typedef struct {
	uint64_t stamp_us;
	uint32_t rate_millihz;
	uint8_t streaming;    /* 0 or 1 */
	const char *device;   /* UTF-8, at most SW_MAX_TEXT bytes, ended by 0; so is firmware */
	const char *firmware;
	uint8_t channel_count;
	const sw_channel *channels;
} sw_hello_data;

typedef struct {
	uint32_t index;
	uint64_t stamp_us; /* at the first sample */
	uint32_t span_us;  /* from the first sample to the last */
	uint8_t sample_count, channel_count;
	const uint16_t *values; /* sample after sample; signed channels as two's complement */
} sw_samples_data;

typedef struct {
	uint64_t stamp_us;
	uint32_t samples, overruns, dropped;
	uint16_t battery_mv;
	int16_t temperature_decic;
	uint32_t uptime_s;
} sw_status_data;

/* Each writes one frame, zero byte before and after included, into out, and returns its size. 0 means that it did not fit into
 * size bytes or that the data break a limit; then no sequence number is used up. */
size_t sw_hello(sw_sender *s, uint8_t *out, size_t size, const sw_hello_data *d);
size_t sw_samples(sw_sender *s, uint8_t *out, size_t size, const sw_samples_data *d);
size_t sw_marker(sw_sender *s, uint8_t *out, size_t size, uint64_t stamp_us, uint16_t label);
size_t sw_status(sw_sender *s, uint8_t *out, size_t size, const sw_status_data *d);
size_t sw_end(sw_sender *s, uint8_t *out, size_t size, uint64_t stamp_us, uint32_t samples, uint8_t reason);
size_t sw_reply(sw_sender *s, uint8_t *out, size_t size, uint8_t command, uint32_t command_sequence, uint8_t result,
                uint32_t rate_millihz);

/* A command of the host. */
typedef struct {
	uint8_t type;          /* SW_IDENTIFY, … or another value from 0x80 to 0xBF: reply SW_UNKNOWN */
	uint32_t sequence;     /* for the reply */
	uint32_t rate_millihz; /* of SW_SET_RATE */
	uint16_t label;        /* of SW_MARK */
} sw_command;

/* Takes the host's bytes. All zero is its first state. */
typedef struct {
	uint8_t raw[SW_COMMAND_SIZE];
	size_t count;
	uint8_t left;    /* bytes still to come in the block */
	uint8_t zero;    /* a zero stands between this block and the next */
	uint8_t begun;   /* a block was begun since the last delimiter */
	uint8_t damaged; /* wait for the next delimiter */
} sw_receiver;

/* Takes one byte. Returns 1 when it ends a whole command, which is then in *c, otherwise 0. */
int sw_receive(sw_receiver *r, uint8_t byte, sw_command *c);

/* Makes a 64-bit clock of a 32-bit µs counter that wraps. Call it at least once an hour. All zero is its first state. */
typedef struct {
	uint32_t last, wraps;
} sw_clock;

uint64_t sw_clock_us(sw_clock *c, uint32_t counter_us);

/* CRC-32C. Start with 0; to go on after a first part hand in its CRC. */
uint32_t sw_crc(uint32_t crc, const uint8_t *data, size_t size);

#ifdef __cplusplus
}
#endif

#endif
