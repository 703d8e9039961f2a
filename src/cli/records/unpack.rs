//! Streams packed by zstd or gzip, known by their first bytes whatever they are called, and read as they come.

use flate2::bufread::MultiGzDecoder;
use ruzstd::decoding::{
    BlockDecodingStrategy, FrameDecoder,
    errors::{FrameDecoderError, ReadFrameHeaderError},
};
use std::io::{BufRead, BufReader, Error, ErrorKind, Read, Result};

/// The first bytes of a file of either kind (RFC 1952, section 2.3.1; RFC 8878, sections 3.1.1 and 3.1.2).
const GZIP: [u8; 2] = [0x1f, 0x8b];
const ZSTD: [u8; 4] = [0x28, 0xb5, 0x2f, 0xfd];
/// Of a part that only programs read: any of sixteen.
const ZSTD_SKIPPED: [u8; 3] = [0x2a, 0x4d, 0x18];

/// Most bytes that may be looked back on, so that memory stays what it is whatever the file asks for. The highest
/// level of zstd's command asks for 8 MiB unless told otherwise.
const WINDOW: u64 = 32 << 20;

/// What is in `packed`, unpacked if it is packed.
///
/// # Errors
/// If its beginning cannot be read. A file that is damaged or cut off is an error where it is.
pub(super) fn unpacked(packed: impl Read + Send + 'static) -> Result<Box<dyn Read + Send>> {
    let packed = Begun::new(packed)?;
    let first = packed.first();
    Ok(if first.starts_with(&GZIP) {
        Box::new(MultiGzDecoder::new(BufReader::new(packed)))
    } else if first.starts_with(&ZSTD) || is_skipped(first) {
        let mut decoder = FrameDecoder::new();
        decoder.set_max_window_size(WINDOW);
        Box::new(Frames {
            packed: BufReader::new(packed),
            decoder,
            within: false,
        })
    } else {
        Box::new(packed)
    })
}

fn is_skipped(first: &[u8]) -> bool {
    matches!(first, [0x50..=0x5f, rest @ ..] if rest.starts_with(&ZSTD_SKIPPED))
}

/// Can what begins so still turn out to be packed?
fn may_be_packed(first: &[u8]) -> bool {
    let begins = |kind: &[u8]| first.len() < kind.len() && kind.starts_with(first);
    let skipped = match first {
        [] => true,
        [part, rest @ ..] => matches!(part, 0x50..=0x5f) && ZSTD_SKIPPED.starts_with(rest),
    };
    begins(&GZIP) || begins(&ZSTD) || skipped
}

/// A stream whose first bytes were looked at.
struct Begun<R> {
    first: [u8; 4],
    count: usize,
    given: usize,
    rest: R,
}

impl<R: Read> Begun<R> {
    fn new(mut rest: R) -> Result<Self> {
        let mut first = [0; 4];
        let mut count = 0;
        // No further than must be known: whoever writes a short line and waits for its answer writes no more.
        while count < first.len() && may_be_packed(&first[..count]) {
            match rest.read(&mut first[count..]) {
                Ok(0) => break,
                Ok(read) => count += read,
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(Self {
            first,
            count,
            given: 0,
            rest,
        })
    }

    fn first(&self) -> &[u8] {
        &self.first[..self.count]
    }
}

impl<R: Read> Read for Begun<R> {
    fn read(&mut self, into: &mut [u8]) -> Result<usize> {
        if self.given == self.count {
            return self.rest.read(into);
        }
        let left = &self.first[self.given..self.count];
        let count = left.len().min(into.len());
        into[..count].copy_from_slice(&left[..count]);
        self.given += count;
        Ok(count)
    }
}

/// One frame of zstd after the other; a file may have several.
struct Frames<R> {
    packed: R,
    decoder: FrameDecoder,
    /// Is a frame begun and not yet ended?
    within: bool,
}

impl<R: BufRead> Frames<R> {
    /// Begins the next frame, if there is one.
    fn begin(&mut self) -> Result<bool> {
        while !self.packed.fill_buf()?.is_empty() {
            match self.decoder.init(&mut self.packed) {
                Ok(()) => {
                    self.within = true;
                    return Ok(true);
                }
                Err(FrameDecoderError::ReadFrameHeaderError(ReadFrameHeaderError::SkipFrame {
                    length,
                    ..
                })) => skip(&mut self.packed, length.into())?,
                Err(error) => return Err(Error::other(error)),
            }
        }
        Ok(false)
    }

    /// Ends a frame of which everything was read.
    fn end(&mut self) -> Result<()> {
        self.within = false;
        let told = self.decoder.get_checksum_from_data();
        if told.is_some() && told != self.decoder.get_calculated_checksum() {
            return Err(Error::new(
                ErrorKind::InvalidData,
                "its checksum says that it is damaged",
            ));
        }
        Ok(())
    }
}

fn skip(packed: &mut impl BufRead, length: u64) -> Result<()> {
    let skipped = std::io::copy(&mut packed.take(length), &mut std::io::sink())?;
    if skipped == length {
        Ok(())
    } else {
        Err(ErrorKind::UnexpectedEof.into())
    }
}

impl<R: BufRead> Read for Frames<R> {
    fn read(&mut self, into: &mut [u8]) -> Result<usize> {
        while !into.is_empty() && (self.within || self.begin()?) {
            while self.decoder.can_collect() == 0 && !self.decoder.is_finished() {
                self.decoder
                    .decode_blocks(&mut self.packed, BlockDecodingStrategy::UptoBlocks(1))
                    .map_err(Error::other)?;
            }
            let count = self.decoder.read(into)?;
            if count > 0 {
                return Ok(count);
            }
            self.end()?;
        }
        Ok(0)
    }
}
