//! Where each object lies in the file: bytes pass through and only their places are kept.

use std::io::{self, Write};

use pdf_writer::{Chunk, Filter, Name, Ref, Settings, Str};

/// Objects are written without padding.
pub const SETTINGS: Settings = Settings { pretty: false };

/// A file being written, object by object.
pub struct Sink<W> {
    out: W,
    /// Bytes written so far.
    at: u64,
    /// Offset of each object by its number; `None` while it is only referred to.
    offsets: Vec<Option<u64>>,
    /// Digest of all bytes so far, which becomes the file identifier.
    digest: Digest,
}

impl<W: Write> Sink<W> {
    /// Begins a PDF 1.7 file.
    pub fn new(out: W) -> io::Result<Self> {
        // Object 0 heads the list of free objects and is never in use (ISO 32000-1, 7.5.4).
        let mut sink = Self { out, at: 0, offsets: vec![None], digest: Digest::new() };
        // The comment of bytes above 127 marks the file as binary (7.5.2).
        sink.put(b"%PDF-1.7\n%\x80\x80\x80\x80\n")?;
        Ok(sink)
    }

    /// The number of an object to be written later.
    pub fn reserve(&mut self) -> Ref {
        let number = i32::try_from(self.offsets.len()).expect("memory ends before two thousand million objects");
        self.offsets.push(None);
        Ref::new(number)
    }

    /// Writes one object; `fill` writes it into the chunk under the given number.
    pub fn object(&mut self, id: Ref, fill: impl FnOnce(&mut Chunk)) -> io::Result<()> {
        let mut chunk = Chunk::with_settings(SETTINGS);
        fill(&mut chunk);
        debug_assert!(chunk.refs().eq([id]), "one object a chunk, or the offset would be wrong");
        self.offsets[id.get() as usize] = Some(self.at);
        self.put(chunk.as_bytes())
    }

    /// Ends the file with the list of offsets, as a cross-reference stream (7.5.8), and returns its size in bytes.
    pub fn finish(mut self, catalog: Ref, info: Ref, squeeze: impl FnOnce(&[u8]) -> Vec<u8>) -> io::Result<u64> {
        let id = self.reserve();
        let start = self.at;
        self.offsets[id.get() as usize] = Some(start);
        let width = (8 - start.leading_zeros() as usize / 8).max(1);
        let mut rows = Vec::with_capacity(self.offsets.len() * (width + 2));
        for offset in &self.offsets {
            rows.push(u8::from(offset.is_some()));
            rows.extend(&offset.unwrap_or(0).to_be_bytes()[8 - width..]);
            rows.push(0);
        }
        let (rows, digest) = (squeeze(&rows), self.digest.bytes());
        let size = self.offsets.len() as i32;
        let mut chunk = Chunk::with_settings(SETTINGS);
        let mut stream = chunk.stream(id, &rows);
        stream.filter(Filter::FlateDecode);
        stream.pair(Name(b"Type"), Name(b"XRef"));
        stream.pair(Name(b"Size"), size);
        stream.insert(Name(b"W")).array().items([1, width as i32, 1]);
        stream.pair(Name(b"Root"), catalog);
        stream.pair(Name(b"Info"), info);
        stream.insert(Name(b"ID")).array().items([Str(&digest), Str(&digest)]);
        drop(stream);
        self.put(chunk.as_bytes())?;
        self.put(format!("startxref\n{start}\n%%EOF\n").as_bytes())?;
        self.out.flush()?;
        Ok(self.at)
    }

    fn put(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.out.write_all(bytes)?;
        self.at += bytes.len() as u64;
        self.digest.take(bytes);
        Ok(())
    }
}

/// A digest that names contents: FNV-1a of 128 bits (IETF draft-eastlake-fnv), the same on every machine and release.
#[derive(Clone, Copy)]
pub struct Digest(u128);

impl Digest {
    /// Of nothing yet.
    pub const fn new() -> Self {
        Self(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d)
    }

    /// Takes more bytes in.
    pub fn take(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.0 = (self.0 ^ u128::from(byte)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
        }
    }

    /// As bytes.
    pub const fn bytes(self) -> [u8; 16] {
        self.0.to_be_bytes()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digest_of_the_draft() {
        // draft-eastlake-fnv, test vectors for 128 bits: "" and "a".
        assert_eq!(Digest::new().bytes()[..4], [0x6c, 0x62, 0x27, 0x2e]);
        let mut digest = Digest::new();
        digest.take(b"a");
        assert_eq!(digest.0, 0xd228_cb69_6f1a_8caf_7891_2b70_4e4a_8964);
    }
}
