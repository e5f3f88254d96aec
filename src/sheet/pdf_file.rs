//! A PDF file put together from its objects. Those without a stream are packed many together (ISO 32000-1, 7.5.7), which makes what tells a
//! page to people who can't see it a quarter as large; where each is stands in a packed table (7.5.8).

use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::{Chunk, Filter, Name, Ref, Settings};

/// Objects in one pack: a reader unpacks all of them for the first.
const PACK: usize = 200;

/// A chunk to write one object into, without spaces that only people need.
pub fn chunk() -> Chunk {
    Chunk::with_settings(SETTINGS)
}

/// Without spaces that only people need.
pub const SETTINGS: Settings = Settings { pretty: false };

/// Packed as PDF readers unpack it.
pub fn packed(bytes: &[u8]) -> Vec<u8> {
    compress_to_vec_zlib(bytes, 9)
}

/// A file being written.
pub struct File {
    bytes: Vec<u8>,
    /// Where each object is, by its number; `None` for numbers without one.
    places: Vec<Option<Place>>,
    /// Objects that wait to be packed: their numbers and what they hold.
    waiting: Vec<(Ref, Vec<u8>)>,
}

#[derive(Clone, Copy)]
enum Place {
    /// In the file, so many bytes from its start.
    At(usize),
    /// In a pack, so many objects from its start.
    In(Ref, usize),
}

impl File {
    /// A file without any object.
    pub fn new() -> Self {
        // The bytes above 127 tell programs that the file is no text.
        Self { bytes: b"%PDF-1.7\n%\xE2\xE3\xCF\xD3\n".to_vec(), places: vec![None], waiting: Vec::new() }
    }

    /// Adds the one object of a chunk, a stream.
    pub fn add_stream(&mut self, chunk: &Chunk) {
        for id in chunk.refs() {
            self.place(id, Place::At(self.bytes.len()));
        }
        self.bytes.extend(chunk.as_bytes());
    }

    /// Adds the one object of a chunk, no stream.
    pub fn add(&mut self, chunk: &Chunk) {
        for id in chunk.refs() {
            let object = chunk.as_bytes().trim_ascii();
            let object = object.strip_prefix(format!("{} 0 obj", id.get()).as_bytes()).unwrap_or(object);
            let object = object.strip_suffix(b"endobj").unwrap_or(object).trim_ascii();
            self.waiting.push((id, object.to_vec()));
        }
    }

    /// The whole file, the numbers from `next` on given to its tables.
    pub fn finish(mut self, mut next: Ref, catalog: Ref, info: Ref) -> Vec<u8> {
        for objects in std::mem::take(&mut self.waiting).chunks(PACK) {
            let id = next.bump();
            let (mut index, mut body) = (String::new(), Vec::new());
            for (at, (object, bytes)) in objects.iter().enumerate() {
                index.push_str(&format!("{} {} ", object.get(), body.len()));
                body.extend(bytes);
                body.push(b'\n');
                self.place(*object, Place::In(id, at));
            }
            let data = packed(&[index.as_bytes(), &body].concat());
            let mut chunk = chunk();
            let mut stream = chunk.stream(id, &data);
            stream.filter(Filter::FlateDecode).pair(Name(b"Type"), Name(b"ObjStm"));
            stream.pair(Name(b"N"), objects.len() as i32).pair(Name(b"First"), index.len() as i32);
            drop(stream);
            self.add_stream(&chunk);
        }
        let (id, start) = (next.bump(), self.bytes.len());
        self.place(id, Place::At(start));
        let entry = |place: &Option<Place>| {
            let (kind, first, second) = match *place {
                None => (0, 0, u16::MAX),
                Some(Place::At(offset)) => (1, offset as u32, 0),
                Some(Place::In(pack, at)) => (2, pack.get() as u32, at as u16),
            };
            let mut bytes = vec![kind];
            bytes.extend(first.to_be_bytes());
            bytes.extend(second.to_be_bytes());
            bytes
        };
        let table: Vec<u8> = self.places.iter().flat_map(entry).collect();
        let data = packed(&table);
        let mut chunk = chunk();
        let mut stream = chunk.stream(id, &data);
        stream.filter(Filter::FlateDecode).pair(Name(b"Type"), Name(b"XRef")).pair(Name(b"Size"), self.places.len() as i32);
        stream.insert(Name(b"W")).array().items([1, 4, 2]);
        stream.pair(Name(b"Root"), catalog).pair(Name(b"Info"), info);
        drop(stream);
        self.bytes.extend(chunk.as_bytes());
        self.bytes.extend(format!("startxref\n{start}\n%%EOF\n").as_bytes());
        self.bytes
    }

    fn place(&mut self, id: Ref, place: Place) {
        let number = id.get() as usize;
        if self.places.len() <= number {
            self.places.resize(number + 1, None);
        }
        self.places[number] = Some(place);
    }
}
