/** The package types neither this entry nor its own helpers; this is what is used here. */
declare module 'libheif-js/libheif-wasm/libheif-bundle.mjs' {
  export interface HeifStatus {
    code?: { value: number };
    message?: string;
  }
  export interface HeifPlane {
    /** A view into WebAssembly memory: copy before the image is released. */
    data: Uint8Array;
    /** Bytes from one row to the next. */
    stride: number;
    width: number;
    height: number;
  }
  export interface HeifDecoded extends HeifStatus {
    image: object;
    channels: HeifPlane[];
  }
  export interface LibHeif {
    ready?: Promise<unknown>;
    heif_colorspace: { heif_colorspace_RGB: unknown };
    heif_chroma: { heif_chroma_interleaved_RGB: unknown };
    heif_context_alloc(): object | null;
    heif_context_free(context: object): void;
    heif_context_read_from_memory(context: object, bytes: Uint8Array): HeifStatus;
    heif_js_context_get_primary_image_handle(context: object): HeifStatus;
    heif_image_handle_get_width(handle: object): number;
    heif_image_handle_get_height(handle: object): number;
    heif_image_handle_release(handle: object): void;
    heif_js_decode_image2(handle: object, colourSpace: unknown, chroma: unknown): Promise<HeifDecoded>;
    heif_image_release(image: object): void;
  }
  const init: (options: { print: (text: string) => void; printErr: (text: string) => void }) => LibHeif;
  export default init;
}
