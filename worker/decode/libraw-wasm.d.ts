/** The package types its browser worker only; this is the module underneath, as far as it is used here. */
declare module 'libraw-wasm/dist/libraw.js' {
  export interface LibRawImage {
    width: number;
    height: number;
    colors: number;
    bits: number;
    data: Uint8Array | Uint16Array;
  }
  /** The sensor's values. Only for sensors that see one colour a pixel. */
  export interface LibRawMosaic {
    raw_width: number;
    raw_height: number;
    top_margin: number;
    left_margin: number;
    data: Uint16Array;
  }
  export interface LibRawThumbnail {
    width: number;
    height: number;
    format: string;
    data: Uint8Array;
  }
  export interface LibRawMetadata {
    width: number;
    height: number;
    raw_width: number;
    raw_height: number;
    top_margin: number;
    left_margin: number;
    /** Bytes from a row of the mosaic to the next; 0 before it was read. */
    raw_pitch: number;
    /** Two bits a pixel of 8 rows of 2, from the lowest: 0 red, 1 green, 2 blue, 3 the other green; 0..9: no such mosaic. */
    filters: number;
    /** A byte a part, 1.4.0.0 as 0x01040000; 0 where the file is no DNG. */
    dng_version: number;
    colors: number;
    pixel_aspect: number;
    flip: number;
    iso_speed: number;
    /** Seconds. */
    shutter: number;
    aperture: number;
    camera_make: string;
    camera_model: string;
    /** Maker notes in common words; only with full metadata. */
    shootinginfo?: { BodySerial?: string };
    color_data: {
      black: number;
      maximum: number;
      cam_mul: number[];
      pre_mul: number[];
      rgb_cam: number[][];
      raw_bps: number;
    };
  }
  export interface LibRawInstance {
    open(bytes: Uint8Array, settings: Record<string, unknown>): void;
    metadata(full: boolean): LibRawMetadata;
    /** Reads and processes by the settings; called again it only copies. */
    imageData(): LibRawImage | undefined;
    /** Copies the mosaic, once it was read; undefined where the file has none. */
    rawImageData(): LibRawMosaic | undefined;
    thumbnailData(): LibRawThumbnail | undefined;
    delete(): void;
  }
  export interface LibRawModule {
    LibRaw: new () => LibRawInstance;
  }
  const init: (options: {
    wasmBinary: Uint8Array;
    print: (text: string) => void;
    printErr: (text: string) => void;
  }) => Promise<LibRawModule>;
  export default init;
}
